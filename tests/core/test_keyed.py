"""The tare key pressed while the load still moves: nothing that was added is lost."""

from __future__ import annotations

import pytest

from scaled.core.belief import Belief, Mode
from scaled.core.food import Move
from scaled.core.jump import Jump
from scaled.core.plan import Plan
from scaled.core.rest import Rest
from scaled.core.track import Tracker
from tests.core.scripted import BOWL_G, dish

PLAN = Plan.of(dish())  # grain 120 in three, beans 60, sauce 30, seeds 12 g


def rest(level_g: float, jump: Jump | None = None, *, abrupt: bool = False) -> Rest:
    return Rest(0.0, 0.4, level_g, 0.3, 2.0, jump=jump, abrupt=abrupt, load_abrupt=0.003)


def tracked(*levels: float) -> Tracker:
    tracker = Tracker(PLAN)
    for level_g in levels:
        tracker.advance(rest(level_g))
    return tracker


def best(tracker: Tracker) -> Belief:
    assert tracker.best is not None
    return tracker.best


def test_food_on_its_way_when_the_key_was_pressed_is_counted() -> None:
    tracker = tracked(0.0, BOWL_G, BOWL_G + 40.0, BOWL_G + 80.0, BOWL_G + 120.0)
    shown = Jump(0.0, BOWL_G + 168.0, 2.0)  # 48 of 60 g
    moves = tracker.advance(rest(12.0, shown)).chances
    assert moves[Move.BEGUN] > 0.9
    now = best(tracker)
    assert now.group == (1,)
    assert now.net_g == pytest.approx(60.0)
    assert 2.0 < now.net_u_g < 2.5
    assert now.zero_g == pytest.approx(-BOWL_G - 168.0)


def test_a_bowl_set_to_zero_before_it_came_to_rest_is_known() -> None:
    tracker = tracked(0.0)
    tracker.advance(rest(1.0, Jump(0.0, BOWL_G - 1.0, 0.5)))
    now = best(tracker)
    assert now.mode is Mode.ON
    assert now.tare_g == pytest.approx(BOWL_G)


def test_a_build_taken_off_a_scale_that_shows_loads_at_once_is_off() -> None:
    tracker = tracked(0.0, BOWL_G, *(BOWL_G + g for g in (40.0, 80.0, 120.0, 180.0, 210.0, 222.0)))
    gone = rest(0.0, Jump(0.0, BOWL_G + 222.0, 0.5), abrupt=True)._replace(load_abrupt=0.9)
    tracker.advance(gone)
    assert best(tracker).mode is Mode.OFF


def test_a_hand_that_lets_go_is_no_key_pressed_on_what_stood_there_before() -> None:
    """What the display jumped from was food, even where it was too short a rest to be sure."""
    tracker = tracked(0.0, BOWL_G, BOWL_G)
    tracker.advance(
        Rest(2.0, 2.4, BOWL_G + 40.0, 0.7, 2.0, settled=False, doubt=0.2, load_abrupt=0.003)
    )
    food = Jump(3.0, BOWL_G + 40.0, 0.3)
    tracker.advance(rest(0.0, food, abrupt=True)._replace(left_g=BOWL_G + 40.0))
    now = best(tracker)
    assert now.zero_g == pytest.approx(-BOWL_G - 40.0)
    assert now.net_g == pytest.approx(40.0)


def test_the_zero_key_over_a_pan_that_a_tared_build_has_left_is_a_key() -> None:
    tracker = tracked(0.0, BOWL_G, *(BOWL_G + g for g in (40.0, 80.0, 120.0)))
    tracker.advance(rest(0.0, Jump(1.0, BOWL_G + 120.0, 0.3), abrupt=True))
    tracker.advance(rest(-BOWL_G - 120.0))
    moved = tracker.advance(rest(0.0, abrupt=True)._replace(left_g=-BOWL_G - 120.0))
    assert moved.keyed > 0.9
    assert moved.shift_g == pytest.approx(BOWL_G + 120.0)
    assert best(tracker).mode is Mode.OFF


def test_the_zero_key_pressed_before_the_bare_pan_came_to_rest_is_told() -> None:
    tracker = tracked(0.0, BOWL_G, *(BOWL_G + g for g in (40.0, 80.0, 120.0, 180.0, 210.0, 222.0)))
    tracker.advance(rest(0.0, Jump(1.0, BOWL_G + 222.0, 0.3), abrupt=True))
    fast = rest(0.0, Jump(2.0, -BOWL_G - 222.0, 0.3))._replace(load_abrupt=0.001)
    moved = tracker.advance(fast)
    assert moved.chances[Move.LIFTED] > 0.9
    assert moved.keyed > 0.9
    assert moved.shift_g == pytest.approx(BOWL_G + 222.0, abs=1.0)


@pytest.mark.parametrize(("abrupt", "likely"), [(None, True), (False, False)])
def test_where_the_way_was_hidden_a_display_at_zero_may_be_a_key(
    abrupt: bool | None, likely: bool
) -> None:
    """With steps to come, a build is set to zero about as often as it is carried off."""
    tracker = tracked(0.0, BOWL_G, BOWL_G + 40.0, BOWL_G + 80.0, BOWL_G + 120.0)
    moved = tracker.advance(rest(0.0)._replace(abrupt=abrupt, left_g=BOWL_G + 120.0))
    assert (moved.keyed > 0.05) is likely


def test_a_load_may_pass_zero_by_chance() -> None:
    """The smaller the jump and the wilder the way, the less it says of a key."""
    keyed = []
    for chance in (0.0, 0.1, 0.5):
        tracker = tracked(0.0, BOWL_G, BOWL_G + 40.0, BOWL_G + 80.0)
        tracker.advance(rest(0.0, Jump(0.0, BOWL_G + 80.0, 0.3), abrupt=True))
        jump = Jump(2.0, -10.0, 2.0, chance)
        keyed.append(tracker.advance(rest(40.0, jump)).keyed)
    assert keyed == sorted(keyed, reverse=True)
    assert keyed[0] > 2 * keyed[-1] > 0
