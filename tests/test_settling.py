"""The engine's promise on simulated pans: how soon it knows a weight, and how well.

Over clean cooks, divisions from 0.1 to 5 g and 5, 10 and 20 readings a second.
"""

from __future__ import annotations

from collections import defaultdict
from statistics import median, quantiles

import pytest

from simulators.habits import CLEAN
from tests.benchmarks.corpus import DIVISIONS, RATES_HZ, cases, play
from tests.benchmarks.engine import settled_rests
from tests.benchmarks.provisional import RoughFigures, rough_words, roughly
from tests.benchmarks.rests import RestFigures, compare, true_rests
from tests.benchmarks.rows import beyond_2u

Cell = tuple[str, int]
"""Division and readings a second."""
Measured = dict[Cell, tuple[RestFigures, RoughFigures]]


@pytest.fixture(scope="module")
def measured() -> Measured:
    cells: Measured = defaultdict(lambda: (RestFigures(), RoughFigures()))
    for case in cases(216, DIVISIONS, CLEAN, seed=7400):
        run, readings = play(case)
        division_g, rests = run.make.division.size_g, true_rests(run, readings)
        settled, rough = cells[case.division, case.rate_hz]
        settled.add(compare(run, rests, settled_rests(readings, division_g)))
        rough.add(roughly(list(rough_words(readings, division_g)), rests))
    return cells


def all_rests(measured: Measured) -> RestFigures:
    whole = RestFigures()
    for settled, _ in measured.values():
        whole.add(settled)
    return whole


def test_every_scale_settles_soon(measured: Measured) -> None:
    assert set(measured) == {(division, rate) for division in DIVISIONS for rate in RATES_HZ}
    for settled, _ in measured.values():
        assert settled.asked > 80
        assert median(settled.delays_s) <= 0.45
        assert quantiles(settled.delays_s, n=20)[-1] <= 0.95


def test_few_rests_are_missed_or_made_up(measured: Measured) -> None:
    whole = all_rests(measured)
    assert len(whole.delays_s) >= 0.995 * whole.asked
    assert whole.false <= 0.015 * whole.told


def test_the_true_weight_lies_within_two_uncertainties(measured: Measured) -> None:
    """About 5 % may lie outside (JCGM 100:2008, G.1.3), but not none: that were too timid."""
    whole = all_rests(measured)
    assert 1.0 <= beyond_2u(whole.errors_u) <= 7.0
    assert 1.0 <= beyond_2u(whole.booked_u) <= 7.0


def test_a_rough_weight_is_there_in_a_quarter_of_a_second(measured: Measured) -> None:
    errors_u: list[float] = []
    for _, rough in measured.values():
        assert median(rough.delays_s) <= 0.25
        errors_u += rough.errors_u
    assert 1.0 <= beyond_2u(errors_u) <= 8.0
