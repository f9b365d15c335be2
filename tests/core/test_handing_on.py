"""A bowl that was lifted after food is most often fed next what another position adds."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core import set_down
from scaled.core.belief import Belief, empty
from scaled.core.food import Change, fed
from scaled.core.handing_on import handed_on
from scaled.core.leaving import leaving
from scaled.core.next_step import choices
from scaled.core.plan import Plan
from scaled.core.rest import Rest
from tests.core.scripted import BOWL_G, dish

PLAN = replace(Plan.of(dish()), positions=("hot line", "hot line", "cold line", "cold line"))
ONE_POSITION = Plan.of(dish())  # grain 120, beans 60, sauce 30, seeds 12 g
GRAIN = set_down.started(empty(0.0, 0.1), Rest(0.0, 1.0, BOWL_G, 0.3), 4, None)
GRAIN = GRAIN.fed(BOWL_G + 120.0, 0.3, 3)


def lifted(belief: Belief) -> Belief:
    """The same, off the pan and back on it."""
    return belief.lifted(0.0)._replace(mode=belief.mode)


def odds_of_sauce(belief: Belief, plan: Plan, by_g: float = 42.0) -> float:
    """How much likelier so much is sauce than beans, which are next."""
    change = Change.of(belief, Rest(2.0, 3.0, belief.level_g + by_g, 0.3))
    found = {after.group: density for density, after, _ in fed(belief, change, plan)}
    return found[2,] / found[1,]


def test_after_a_lift_a_step_of_another_position_is_likelier() -> None:
    assert odds_of_sauce(lifted(GRAIN), PLAN) > 5 * odds_of_sauce(GRAIN, PLAN)


def test_where_one_position_does_it_all_a_lift_tells_nothing() -> None:
    assert odds_of_sauce(lifted(GRAIN), ONE_POSITION) == pytest.approx(
        odds_of_sauce(GRAIN, ONE_POSITION)
    )


def test_what_a_lift_told_is_used_up_by_the_next_food() -> None:
    more = lifted(GRAIN).fed(BOWL_G + 125.0, 0.3, 4)
    fresh = GRAIN.fed(BOWL_G + 125.0, 0.3, 4)
    assert more == fresh
    beans = lifted(GRAIN).begun((1,), BOWL_G + 180.0, 0.3, 1)
    assert beans == GRAIN.begun((1,), BOWL_G + 180.0, 0.3, 1)
    both = lifted(GRAIN).joined((0, 1), BOWL_G + 180.0, 0.3, 4)
    assert both == GRAIN.joined((0, 1), BOWL_G + 180.0, 0.3, 4)


def test_before_a_step_of_another_position_it_is_lifted_more_often() -> None:
    beans = GRAIN.begun((1,), BOWL_G + 180.0, 0.3, 1)
    assert leaving(beans, PLAN).before > 4 * leaving(GRAIN, PLAN).before
    assert leaving(GRAIN, PLAN).before > leaving(GRAIN, ONE_POSITION).before  # beans left out


@given(st.integers(0, 2), st.floats(0.01, 0.99))
def test_what_comes_after_a_lift_is_certain_to_be_something(step: int, done: float) -> None:
    steps = choices((), tuple(range(step + 1, 4)), begun=True)
    reach = math.fsum(chance for _, chance in steps)
    after = handed_on(step, steps, done, PLAN)
    more = (1 - done * reach) * after.more
    assert more + done * math.fsum(share for _, share in after.steps) == pytest.approx(1.0)
    assert 0 < after.chance < 1
    assert after.more <= 1 + 1e-9
