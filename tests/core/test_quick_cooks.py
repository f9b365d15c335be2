"""Bowls swapped, and builds finished, more quickly than the pan comes to rest."""

from __future__ import annotations

import pytest

from scaled.core.belief import Mode
from scaled.core.food import Move
from scaled.core.plan import Plan
from scaled.core.rest import Rest
from scaled.core.track import Tracker
from tests.core.scripted import BOWL_G, dish

PLAN = Plan.of(dish())  # grain 120 in three scoops, beans 60, sauce 30, seeds 12 g
WHOLE_G = (0.0, BOWL_G, *(BOWL_G + g for g in (40.0, 80.0, 120.0, 180.0, 210.0, 222.0)))


def rest(level_g: float, left_g: float = 0.0, peak_g: float = 0.0, u_g: float = 0.3) -> Rest:
    return Rest(0.0, 0.4, level_g, u_g, 2.0, left_g=left_g, peak_g=peak_g)


def tracked(*levels_g: float) -> Tracker:
    tracker = Tracker(PLAN)
    for level_g in levels_g:
        tracker.advance(rest(level_g))
    tracker.change(lambda belief: belief._replace(fresh=False))  # told of
    return tracker


def test_a_known_container_in_place_of_a_build_is_the_next_one() -> None:
    """A zero that is off by just its weight is the other way to see it."""
    tracker = tracked(*WHOLE_G)
    tracker.advance(rest(BOWL_G, BOWL_G + 222.0))
    assert tracker.probability(lambda b: b.fresh) > 0.8


def test_what_is_no_known_container_is_seldom_the_next_one() -> None:
    tracker = tracked(*WHOLE_G)
    tracker.advance(rest(BOWL_G + 150.0, BOWL_G + 222.0))
    assert tracker.probability(lambda b: b.fresh) < 0.5


@pytest.mark.parametrize(("peak_g", "likely"), [(110.0, True), (30.0, False), (300.0, False)])
def test_steps_that_may_have_come_just_before_the_lift_are_not_left_out(
    peak_g: float, likely: bool
) -> None:
    tracker = tracked(*WHOLE_G[:5])  # beans, sauce and seeds are to come: 102 g
    full_g = BOWL_G + 120.0
    tracker.advance(rest(0.0, full_g, full_g + peak_g))
    finished = tracker.probability(lambda b: b.mode is Mode.OFF and not b.ahead)
    assert (finished > 0.1) is likely


def test_a_build_on_a_zero_known_badly_is_off_where_the_zero_may_be() -> None:
    """A key was pressed while the level was known to 4 g; the next container follows at once."""
    tracker = tracked(*WHOLE_G)
    tracker.change(lambda belief: belief._replace(level_u_g=4.0).shown_at(0.0, 0.3))
    zero_g = tracker.beliefs[0][1].zero_g
    off = tracked(0.0)
    off.beliefs = tracker.beliefs
    off.advance(rest(zero_g - 5.0))
    assert off.probability(lambda b: b.mode is Mode.OFF and not b.strange) > 0.9
    moved = tracker.advance(rest(zero_g + BOWL_G - 5.0))
    assert moved.chances[Move.PLACED] > 0.5
    assert tracker.beliefs[0][1].zero_u_g == 4.0
