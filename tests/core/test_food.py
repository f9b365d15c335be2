"""What food may mean under one belief: no more than a quick look beforehand says."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st

from scaled.core import set_down
from scaled.core.belief import Belief, empty
from scaled.core.food import Change, densest, fed
from scaled.core.plan import Plan
from scaled.core.rest import Rest
from tests.core.scripted import BOWL_G, dish

PLAN = Plan.of(dish())  # grain 120, beans 60, sauce 30, seeds 12 g
BEGUN = set_down.started(empty(0.0, 0.1), Rest(0.0, 1.0, BOWL_G, 0.3), 4, None)


def builds() -> st.SearchStrategy[Belief]:
    """Builds at some step, the ones before it closed or passed over."""
    return st.builds(
        lambda step, gestures, net_g: (
            BEGUN.begun((step,), BOWL_G + net_g, 0.3, gestures)
            if step
            else BEGUN.at(BOWL_G + net_g, 0.3)._replace(gestures=gestures)
        ),
        st.integers(0, 3),
        st.integers(0, 3),
        st.floats(0.0, 150.0),
    )


@given(builds(), st.floats(0.1, 400.0), st.floats(0.01, 5.0))
def test_no_food_is_denser_than_the_quick_look_says(
    belief: Belief, by_g: float, u_g: float
) -> None:
    change = Change.of(belief, Rest(2.0, 3.0, belief.level_g + by_g, u_g))
    densities = [density for density, _, _ in fed(belief, change, PLAN)]
    assert max(densities, default=0.0) <= densest(belief, by_g, u_g, PLAN) * (1 + 1e-9)


def test_of_a_step_that_holds_less_than_nothing_a_quick_look_tells_nothing() -> None:
    assert densest(BEGUN.at(BOWL_G - 5.0, 0.3), 400.0, 0.3, PLAN) == math.inf


@given(st.floats(350.0, 600.0), st.floats(0.01, 2.0))
def test_what_no_food_weighs_is_seen_at_a_quick_look(by_g: float, u_g: float) -> None:
    assert densest(BEGUN, by_g, u_g, PLAN) < 2e-4


def test_a_step_may_be_passed_over_and_the_next_two_come_in_one() -> None:
    change = Change.of(BEGUN, Rest(2.0, 3.0, BOWL_G + 90.0, 0.3))
    density, both = max((p, after) for p, after, _ in fed(BEGUN, change, PLAN) if 0 in after.ahead)
    assert (both.group, both.ahead) == ((1, 2), (0, 3))
    late = Change.of(BEGUN, Rest(2.0, 3.0, BOWL_G + 102.0, 0.3))
    assert density > max(p for p, after, _ in fed(BEGUN, late, PLAN) if after.group == (1, 2))


STREWN = Plan.of(dish(('{ kind = "cup", volume = "1 tbsp" }', '{ kind = "fingers" }')))


def left(step: int, pause_s: float) -> float:
    """Uncertainty of what a step holds, left for the next after a rest so long."""
    build = BEGUN.begun((step,), BOWL_G + STREWN.aims[step].usual_g, 0.3, 1)
    by_g = STREWN.aims[step + 1].usual_g
    seen = Rest(2.0, 3.0, build.level_g + by_g, 0.3, pause_s)
    means = fed(build, Change.of(build, seen), STREWN)
    return next(after for _, after, _ in means if after.group == (step + 1,)).closed[-1].u_g


def test_a_rest_soon_over_beside_something_strewn_is_one_between_two_pinches() -> None:
    seeds_next, beans_next = 2, 1
    assert left(seeds_next, 0.7) > left(seeds_next, 2.0) == left(beans_next, 0.7)


def suits(step: int, by_g: float, *, slow: bool) -> float:
    """How much likelier so much begins a step, came it slowly or not, than with no time known."""
    build = BEGUN.begun((step - 1,), BOWL_G + STREWN.aims[step - 1].usual_g, 0.3, 1)
    seen = Rest(2.0, 3.0, build.level_g + by_g, 0.3, 2.0)
    known, unknown = (
        next(
            density
            for density, after, _ in fed(build, Change.of(build, rest), STREWN)
            if after.group == (step,)
        )
        for rest in (seen._replace(slow=slow), seen)
    )
    return known / unknown


def test_what_comes_slowly_is_strewn_and_no_scoop() -> None:
    sauce, seeds = 2, 3  # by cup and by fingers
    assert suits(seeds, 12.0, slow=True) == 1.0
    assert suits(sauce, 30.0, slow=False) == 1.0
    assert suits(sauce, 30.0, slow=True) < 0.1 < suits(seeds, 12.0, slow=False) < 1.0


def test_several_scoops_in_one_go_may_take_as_long() -> None:
    sauce = 2
    assert suits(sauce, 50.0, slow=True) == 1.0


def test_what_was_on_its_way_for_longer_than_it_was_timed_tells_nothing() -> None:
    build = BEGUN.begun((1,), BOWL_G + STREWN.aims[1].usual_g, 0.3, 1)
    held_g = build.level_g - 40.0  # a hand held the bowl up, and let go slowly
    seen = Rest(2.0, 3.0, build.level_g + 30.0, 0.3, 2.0)
    slowly, sometime = (
        [density for density, _, _ in fed(build, Change.of(build, rest, held_g), STREWN)]
        for rest in (seen._replace(slow=True), seen)
    )
    assert slowly == sometime
