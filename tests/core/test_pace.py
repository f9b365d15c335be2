"""A key's jump stands out the more, the slower this scale shows a load."""

from __future__ import annotations

import math

import pytest

from scaled.core.pace import BEFOREHAND, Pace
from scaled.core.rest import ABRUPT_LOAD, Phase, Rest
from scaled.core.settle import Settler
from tests.core.scripted_scale import Scale


def rest(level_g: float, *, abrupt: bool = False) -> Rest:
    return Rest(0.0, 0.4, level_g, 0.3, abrupt=abrupt)


def test_nothing_is_known_at_first_and_much_after_one_load() -> None:
    pace = Pace()
    assert pace.abrupt == pytest.approx(ABRUPT_LOAD)
    pace.learn(0.0, rest(50.0), 1.0)
    assert pace.abrupt == pytest.approx(BEFOREHAND / (1 + BEFOREHAND) * ABRUPT_LOAD)


def test_a_scale_that_shows_loads_at_once_is_known_for_it() -> None:
    pace = Pace()
    for load_g in (50.0, 100.0, 150.0):
        pace.learn(load_g - 50.0, rest(load_g, abrupt=True), 1.0)
    assert pace.abrupt > 0.7


@pytest.mark.parametrize(("left_g", "level_g"), [(50.0, 0.0), (0.0, 9.0), (-math.inf, 50.0)])
def test_what_comes_off_is_little_or_was_always_there_tells_nothing(
    left_g: float, level_g: float
) -> None:
    pace = Pace()
    pace.learn(left_g, rest(level_g, abrupt=True), 1.0)
    assert pace.abrupt == pytest.approx(ABRUPT_LOAD)


@pytest.mark.parametrize(
    ("in_s", "lag_s", "low", "high"), [(0.3, 0.1, 0.0, 0.011), (0.01, 0.001, 0.6, 1.0)]
)
def test_a_settler_learns_it_from_what_is_set_down(
    in_s: float, lag_s: float, low: float, high: float
) -> None:
    scale, settler = Scale(division=1.0, lag_s=lag_s), Settler(1.0)
    said = []
    for by_g in (0.0, 40.0, 40.0, 40.0):
        for readings in (scale.move(by_g, in_s), scale.hold(2.0)):
            said += [settler.read(r.t, r.weight) for r in readings]
    last = [one[1] for one in said if one and one[0] is Phase.BEGAN][-1]
    assert low <= last.load_abrupt <= high
