"""The engine's promise when a link drops in the middle of portions: the same words, or unsure."""

from __future__ import annotations

from collections import Counter

import pytest

from simulators.habits import CLEAN
from tests.benchmarks.corpus import cases
from tests.benchmarks.drops import measure


@pytest.mark.parametrize(
    ("length_s", "same"), [((1.0, 3.0), 0.75), ((3.0, 8.0), 0.35), ((8.0, 20.0), 0.2)]
)
def test_drops_make_words_unsure_and_not_wrong(length_s: tuple[float, float], same: float) -> None:
    outcomes: Counter[str] = Counter()
    for case in cases(48, ("0.5 g", "1 g", "2 g"), CLEAN, seed=7000):
        outcomes.update(pair.outcome for pair in measure(case, length_s))
    steps = outcomes.total()
    assert steps > 200
    assert outcomes["wrong"] <= 0.005 * steps
    assert outcomes["same"] >= same * steps
