"""A key's jump stands out the more, the slower this scale shows a load."""

from __future__ import annotations

import math

import pytest

from scaled.core.pace import AT_MOST, BEFOREHAND, EVERY_S, STEEPLY, Pace
from scaled.core.rest import ABRUPT_LOAD, Phase, Rest
from scaled.core.settle import Settler
from tests.core.scripted_scale import Scale


def rest(level_g: float, left_g: float, *, abrupt: bool = False) -> Rest:
    return Rest(0.0, 0.4, level_g, 0.3, left_g=left_g, abrupt=abrupt)


def test_nothing_is_known_at_first_and_more_with_every_load() -> None:
    pace = Pace()
    assert pace.abrupt(EVERY_S) == pytest.approx(ABRUPT_LOAD)
    pace.learn(rest(50.0, 0.0), 1.0)
    assert pace.abrupt(EVERY_S) == pytest.approx(BEFOREHAND / (1 + BEFOREHAND) * ABRUPT_LOAD)


def test_where_readings_come_fast_a_load_shows_on_its_way() -> None:
    assert Pace().abrupt(EVERY_S / 2) == pytest.approx(ABRUPT_LOAD / 2**STEEPLY)
    assert Pace().abrupt(10.0) == AT_MOST


def test_a_scale_that_shows_loads_at_once_is_known_for_it() -> None:
    pace = Pace()
    for load_g in range(50, 400, 50):
        pace.learn(rest(load_g, load_g - 50.0, abrupt=True), 1.0)
    assert pace.abrupt(0.1) > 0.7


def test_what_nobody_saw_come_tells_nothing() -> None:
    pace = Pace()
    pace.learn(rest(50.0, 0.0)._replace(abrupt=None), 1.0)
    assert pace == Pace()


@pytest.mark.parametrize(
    ("left_g", "level_g"), [(50.0, 0.0), (-400.0, 0.0), (41.0, 50.0), (-math.inf, 50.0)]
)
def test_what_a_key_may_have_done_is_little_or_was_always_there_tells_nothing(
    left_g: float, level_g: float
) -> None:
    pace = Pace()
    pace.learn(rest(level_g, left_g, abrupt=True), 1.0)
    assert pace.abrupt(EVERY_S) == pytest.approx(ABRUPT_LOAD)


@pytest.mark.parametrize(
    ("in_s", "lag_s", "low", "high"), [(0.3, 0.1, 0.0, 0.002), (0.01, 0.001, 0.49, 1.0)]
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
