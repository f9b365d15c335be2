"""The screen's promise: who obeys it builds to standard, and is never left standing."""

from __future__ import annotations

import pytest

from simulators.habits import CLEAN, UNTRAINED, Habits
from tests.benchmarks.corpus import cases
from tests.benchmarks.leading import ALL, tally
from tests.benchmarks.obedience import watch


@pytest.mark.parametrize("habits", [CLEAN, UNTRAINED], ids=["trained", "untrained"])
def test_a_cook_who_obeys_the_screen_builds_to_standard(habits: Habits) -> None:
    seen = tally(map(watch, cases(32, ("1 g",), habits, seed=7600))).cells[ALL]
    assert not seen.dead_ends
    assert seen.steps.total() > 130
    assert seen.steps[True] >= 0.98 * seen.steps.total()
