"""Food of which nothing but a rise was seen: only as much as a gesture of its step may be that."""

from __future__ import annotations

import pytest

from scaled.core import set_down
from scaled.core.belief import Belief, empty
from scaled.core.food import Change
from scaled.core.hasty import (
    ALL_OF_IT,
    HASTY,
    NOT_HASTY,
    added_unseen,
    finished_unseen,
    rise,
)
from scaled.core.plan import Plan
from scaled.core.rest import Rest
from tests.core.scripted import BOWL_G, dish

PLAN = Plan.of(dish())  # grain 120 in three scoops, beans 60, sauce 30, seeds 12 g
TRUTH_G = (121.0, 61.0, 31.0, 11.0)


def holding(last: int) -> Belief:
    """A build in which every step up to this one is done."""
    build = set_down.started(empty(0.0, 0.1), Rest(0.0, 1.0, BOWL_G, 0.3), 4, None)
    build = build.fed(BOWL_G + TRUTH_G[0], 0.3, 3)
    for step in range(1, last + 1):
        build = build.begun((step,), build.level_g + TRUTH_G[step], 0.3, 1)
    return build


def lifted_after(belief: Belief, rise_g: float) -> Change:
    """The pan is bare after the display rose so far above the build."""
    bare = Rest(2.0, 3.0, 0.0, 0.4, peak_g=belief.level_g + rise_g, left_g=belief.level_g)
    return Change.of(belief, bare)


def unseen(belief: Belief, rise_g: float) -> dict[tuple[int, ...], bool]:
    """Which step may have got food, and whether the rise was about as much."""
    means = added_unseen(belief, lifted_after(belief, rise_g), PLAN)
    return {food.group: food.seen for food in means}


@pytest.mark.parametrize(
    ("step", "rise_g", "seen"),
    [
        (0, 50.0, {(0,): True, (1,): True}),
        (0, 15.0, {(0,): True, (1,): False}),  # a scoop of grain is smaller than one of beans
        (0, 150.0, {(0,): False, (1,): True}),
        (1, 15.0, {(1,): False, (2,): True}),
        (2, 0.0, {(2,): False, (3,): False}),  # the display never rose
        (2, -25.0, {(2,): False, (3,): False}),
        (3, 8.0, {(3,): True}),  # nothing is left to begin
    ],
)
def test_a_rise_is_food_of_the_step_whose_gesture_it_is(
    step: int, rise_g: float, seen: dict[tuple[int, ...], bool]
) -> None:
    assert unseen(holding(step), rise_g) == seen


def test_a_rise_that_may_be_noise_is_none() -> None:
    last = holding(3)
    change = lifted_after(last, 8.0)
    shaky = change._replace(rest=change.rest._replace(u_g=2.5))
    assert [food.seen for food in added_unseen(last, shaky, PLAN)] == [False]


def test_it_is_likelier_when_seen_and_never_clear() -> None:
    build = holding(0)
    for food in added_unseen(build, lifted_after(build, 15.0), PLAN):
        assert not food.put_into(build).clear
        assert food.seen is (food.group == (0,))
    for rise_g, most in ((15.0, HASTY), (0.0, NOT_HASTY)):
        foods = added_unseen(build, lifted_after(build, rise_g), PLAN)
        assert sum(food.chance for food in foods) <= most


def test_how_much_came_is_somewhere_between_nothing_and_the_rise() -> None:
    build = holding(0)
    change = lifted_after(build, 50.0)
    assert rise(build, change) == pytest.approx(50.0)
    for food in added_unseen(build, change, PLAN):
        after = food.put_into(build)
        assert after.group == food.group
        assert after.level_g - build.level_g == pytest.approx(25.0)
        assert after.level_u_g == pytest.approx(25.0, abs=0.1)


def finished(belief: Belief, rise_g: float) -> list[tuple[float, Belief]]:
    return list(finished_unseen(belief, lifted_after(belief, rise_g), PLAN))


@pytest.mark.parametrize(
    ("last", "rise_g"),
    [
        (0, 60.0),  # beans alone, not 102 g
        (0, 200.0),  # a hand
        (2, 12.0),  # one step to go is what added_unseen tells of
        (3, 12.0),
    ],
)
def test_a_rise_that_is_not_all_of_the_rest_finishes_nothing(last: int, rise_g: float) -> None:
    assert finished(holding(last), rise_g) == []


def test_who_adds_all_that_is_missing_in_one_go_and_lifts_may_have_finished() -> None:
    build = holding(0)
    ((chance, after),) = finished(build, 110.0)
    assert 0.8 * ALL_OF_IT < chance <= ALL_OF_IT
    assert (after.group, after.ahead) == ((3,), ())
    assert [share.group for share in after.closed] == [(0,), (1,), (2,)]
    assert [share.clear for share in after.shares()] == [True, False, False, False]
    assert after.level_g - build.level_g == pytest.approx(55.0)
    assert after.level_u_g == pytest.approx(55.0, abs=0.1)
    assert build.level_g < after.start_g < after.level_g


def test_what_was_passed_over_is_missing_still() -> None:
    bowl = set_down.started(empty(0.0, 0.1), Rest(0.0, 1.0, BOWL_G, 0.3), 4, None)
    beans_first = bowl.begun((1,), BOWL_G + 61.0, 0.3, 1)
    assert finished(beans_first, 42.0) == []


def test_a_whole_build_may_come_before_the_pan_rests() -> None:
    bowl = set_down.started(empty(0.0, 0.1), Rest(0.0, 1.0, BOWL_G, 0.3), 4, None)
    ((chance, after),) = finished(bowl, 222.0)
    assert chance == ALL_OF_IT
    assert [share.group for share in after.shares()] == [(0,), (1,), (2,), (3,)]
