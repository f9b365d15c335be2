"""The screen's promise: who obeys it builds to standard, and is never left standing."""

from __future__ import annotations

import pytest

from simulators.habits import CLEAN, UNTRAINED, Habits
from tests.benchmarks.closed_loop import obey
from tests.benchmarks.corpus import cases
from tests.benchmarks.obedience import ALL, tally


@pytest.mark.parametrize("habits", [CLEAN, UNTRAINED], ids=["trained", "untrained"])
def test_a_cook_who_obeys_the_screen_builds_to_standard(habits: Habits) -> None:
    todo = list(cases(32, ("1 g",), habits, seed=7600))
    seen = tally((case, obey(case)) for case in todo)
    assert [build.gave_up for build in seen.builds if build.gave_up] == []
    inside = seen.steps[ALL].guided
    assert inside.total() > 130
    assert inside[True] >= 0.98 * inside.total()
