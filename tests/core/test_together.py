"""Several ingredients in one change are told as their sum, or not at all."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core import set_down
from scaled.core.belief import Belief, empty
from scaled.core.events import Attribution, Portion
from scaled.core.food import NOTHING, Change
from scaled.core.gesture import intent
from scaled.core.plan import Plan
from scaled.core.rest import Rest
from scaled.core.together import Chances, together
from tests.core.scripted import BOWL_G, CLEAN, GRAIN, assert_never_wrong, dish

if TYPE_CHECKING:
    from tests.core.scripted import Hire

PLAN = Plan.of(dish())  # grain 120, beans 60, sauce 30, seeds 12 g


def holding(net_g: float, gestures: int) -> Belief:
    """A build with so much in its first step."""
    started = set_down.started(empty(0.0, 0.1), Rest(0.0, 1.0, BOWL_G, 0.3), 4, None)
    return started.at(BOWL_G + net_g, 0.3)._replace(gestures=gestures)


def sums(
    belief: Belief, by_g: float, u_g: float, least: float = NOTHING
) -> list[tuple[float, tuple[int, ...], bool]]:
    """What may have been added in one, with its density."""
    change = Change(Rest(2.0, 3.0, belief.level_g + by_g, u_g), by_g, u_g, by_g, least=least)
    now = intent(PLAN.aims[belief.group[0]], belief.net_g, belief.gestures)
    return list(together(belief, belief.to_come, change, PLAN, Chances(now.more, now.done)))


@pytest.mark.parametrize(
    ("net_g", "by_g", "group"),
    [
        (80.0, 100.0, (0, 1)),  # the last scoop and the beans
        (80.0, 130.0, (0, 1, 2)),  # and the sauce as well
        (80.0, 70.0, (0, 2)),  # the last scoop and the sauce, the beans left out
        (121.0, 90.0, (1, 2)),  # grain is done
    ],
)
def test_the_sum_tells_which(net_g: float, by_g: float, group: tuple[int, ...]) -> None:
    belief = holding(net_g, gestures=2 if net_g < 100 else 3)
    _, likeliest, begun = max(sums(belief, by_g, 0.4))
    assert (likeliest, begun) == (group, 0 in group)


@given(net_g=st.floats(0.0, 200.0), by_g=st.floats(1.0, 400.0), u_g=st.floats(0.01, 5.0))
def test_what_cannot_be_dense_enough_is_left_out_and_nothing_else(
    net_g: float, by_g: float, u_g: float
) -> None:
    belief, least = holding(net_g, 2), 1e-4
    dense = [one for one in sums(belief, by_g, u_g, 0.0) if one[0] > least]
    assert [one for one in sums(belief, by_g, u_g, least) if one[0] > least] == dense


def test_nothing_comes_with_the_last_step() -> None:
    last = holding(6.0, 1)._replace(group=(3,), ahead=())
    assert sums(last, 6.0, 0.4) == []


def test_a_top_up_and_the_next_step_in_one_are_never_two_faults(cook: Hire) -> None:
    """Short by a little, then too much by as much: the sum is right."""
    one = cook().start().put(*GRAIN).wait(1.0).put(50.0).wait(1.0).put(40.0).wait(1.0).put(12.0)
    one.lift(off_s=4.0)
    assert_never_wrong(one.close())


def test_three_in_one_are_never_told_apart(cook: Hire) -> None:
    one = cook().start().put(*GRAIN).wait(1.0).put(102.0).wait(2.0)
    one.lift(off_s=4.0)
    words = one.close().told(Portion)
    assert_never_wrong(one)
    assert {w.step for w in words if w.attribution is Attribution.SURE} <= {"grain"}


def test_a_step_left_out_where_two_came_together_is_never_called_left_out_wrongly(
    cook: Hire,
) -> None:
    one = cook().start().put(*GRAIN).wait(1.0).put(72.0).wait(2.0).put(*CLEAN[2]).wait(1.0)
    one.lift(off_s=4.0)
    assert_never_wrong(one.close())
