"""A unit key pressed where nothing shows it is found out by what is set down next."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core.belief import Mode, empty
from scaled.core.events import BuildStarted, Returned, UnitChanged
from scaled.core.plan import Plan
from scaled.core.reading import GRAMS, Unit
from scaled.core.rest import Rest
from scaled.core.unit_key import Shown, in_unit, unit_meant
from tests.core.scripted import ALL_PASS, BOWL_G, CLEAN, GRAIN, dish
from tests.core.scripted_scale import Scale

if TYPE_CHECKING:
    from tests.core.scripted import Cook, Hire

STEPS: Final = {Unit.G: 1.0, Unit.KG: 0.001, Unit.OZ: 0.05, Unit.LB: 0.005}
"""One display's step in each unit."""
PLAN: Final = Plan.of(dish())
PAN: Final = empty(0.0, 0.3)
OTHER_BOWL: Final = '[[other_container]]\nname = "stoneware"\ntare = "500 g"\n\n[finished]'


def meant(number: float, unit: Unit, division_g: float | None = 1.0, plan: Plan = PLAN) -> Unit:
    """The unit of a number shown by what is set down on an empty pan."""
    rest = Rest(begin_s=1.0, at_s=1.5, level_g=number * GRAMS[unit], u_g=0.3)
    return unit_meant(Shown(number, unit, division_g), rest, PAN, plan)


def without_unit(division_g: float = 1.0) -> Scale:
    return Scale(division=division_g, labelled=False)


def key(one: Cook, unit: Unit) -> Cook:
    """The unit key, wherever the display is."""
    one.scale.unit, one.scale.division = unit, STEPS[unit]
    return one.wait(1.5)


def units(one: Cook) -> list[str]:
    return [said.unit for said in one.told(UnitChanged)]


# What a number means.


@pytest.mark.parametrize(
    ("number", "taken", "true"),
    [
        (20.0, Unit.OZ, Unit.G),
        (20.0, Unit.KG, Unit.G),
        (20.0, Unit.LB, Unit.G),
        (0.7, Unit.G, Unit.OZ),
        (0.045, Unit.G, Unit.LB),
        (0.02, Unit.G, Unit.KG),
        (0.7, Unit.KG, Unit.OZ),
    ],
)
def test_the_bowl_tells_the_unit(number: float, taken: Unit, true: Unit) -> None:
    assert meant(number, taken) is true


@pytest.mark.parametrize("number", [0.0, 1.0, 5.0, 17.0, 20.0, 60.0, 300.0, 2500.0, -1.0])
def test_what_a_scale_in_grams_can_show_is_in_grams(number: float) -> None:
    assert meant(number, Unit.G) is Unit.G


def test_a_weight_that_nothing_explains_is_left_alone() -> None:
    assert meant(9000.0, Unit.OZ) is Unit.OZ
    assert meant(300.0, Unit.OZ) is Unit.OZ


def test_crumbs_between_the_steps_of_a_division_told_wrong_are_no_ounces() -> None:
    assert meant(0.5, Unit.G) is Unit.G


def test_without_a_division_crumbs_stay_crumbs() -> None:
    assert meant(0.7, Unit.G, division_g=None) is Unit.G
    assert meant(20.0, Unit.OZ, division_g=None) is Unit.G


@given(st.floats(-3.0, 3.0), st.sampled_from(Unit), st.booleans())
def test_never_while_it_weighs_like_a_known_container(
    off_u: float, unit: Unit, stoneware: bool
) -> None:
    """20 ounces are 567 g: what weighs like either bowl is read as it is, steps or not."""
    plan = Plan.of(dish(("[finished]", OTHER_BOWL)))
    known = plan.containers.known[stoneware]
    number = (known.tare_g + off_u * known.spread_g) / GRAMS[unit]
    assert meant(number, unit, plan=plan) is unit


@given(st.floats(-1.5, 1.5), st.sampled_from(Unit), st.sampled_from(Unit))
def test_the_unit_taken_or_the_true_one(off_g: float, taken: Unit, true: Unit) -> None:
    """Never a third one."""
    number = round((BOWL_G + off_g) / GRAMS[true] / STEPS[true]) * STEPS[true]
    assert meant(number, taken) in {taken, true}
    if true is Unit.G:
        assert meant(number, taken) is true


def test_only_a_free_pan_is_asked() -> None:
    on = PAN._replace(mode=Mode.REPORTED)
    rest = Rest(begin_s=1.0, at_s=1.5, level_g=567.0, u_g=0.3)
    shown = Shown(20.0, Unit.OZ, 1.0)
    assert unit_meant(shown, rest, PAN, PLAN) is Unit.G
    assert unit_meant(shown, rest, on, PLAN) is Unit.OZ


def test_a_zero_far_off_is_in_the_other_unit_too() -> None:
    assert in_unit(empty(-560.0, 0.3), 1 / 28).zero_g == pytest.approx(-20.0)
    assert in_unit(empty(0.3, 0.3), 28.0).zero_g == 0.3


# A session.


@pytest.mark.parametrize("midway", [Unit.OZ, Unit.KG, Unit.LB])
def test_back_to_grams_over_an_empty_pan(cook: Hire, midway: Unit) -> None:
    one = cook(scale=without_unit()).start().put(*GRAIN).wait(1.0)
    key(one, midway).put(60.0).wait(1.0).put(30.0).wait(1.0).put(12.0).wait(1.0)
    one.lift(off_s=4.0)
    key(one, Unit.G).build(*CLEAN)
    assert units(one) == [midway, Unit.G]
    assert one.verdicts(1) == one.verdicts(2) == ALL_PASS
    assert one.told(BuildStarted)[1].tare_g == pytest.approx(BOWL_G, abs=1.0)


@pytest.mark.parametrize("unit", [Unit.OZ, Unit.KG, Unit.LB])
def test_out_of_grams_over_an_empty_pan(cook: Hire, unit: Unit) -> None:
    one = cook(scale=without_unit()).build(*CLEAN)
    key(one, unit).build(*CLEAN)
    assert units(one) == [unit]
    assert one.verdicts(2) == ALL_PASS
    assert one.told(BuildStarted)[1].tare_g == pytest.approx(BOWL_G, abs=2.0)


def test_the_next_bowl_may_follow_at_once(cook: Hire) -> None:
    one = cook(scale=without_unit()).start()
    for gestures in CLEAN:
        one.put(*gestures).wait(1.0)
    one.lift(off_s=0.5)
    one.scale.unit, one.scale.division = Unit.OZ, STEPS[Unit.OZ]
    one.wait(0.5).put(BOWL_G)
    assert units(one) == [Unit.OZ]
    assert [said.build for said in one.told(BuildStarted)] == [1, 2]


@pytest.mark.parametrize("unit", [Unit.OZ, Unit.KG, Unit.LB])
def test_a_build_comes_back_in_another_unit(cook: Hire, unit: Unit) -> None:
    one = cook(scale=without_unit()).start().put(*GRAIN).wait(1.0)
    off_g = one.lift()
    key(one, unit).put(off_g).wait(1.0)
    for gestures in CLEAN[1:]:
        one.put(*gestures).wait(1.0)
    one.lift(off_s=4.0)
    assert units(one) == [unit]
    assert len(one.told(Returned)) == len(one.told(BuildStarted)) == 1
    assert one.verdicts() == ALL_PASS


def test_a_scale_without_unit_that_was_tared(cook: Hire) -> None:
    one = cook(scale=without_unit()).start()
    one.scale.jump(-BOWL_G)
    one.wait(2.0).put(*GRAIN).wait(1.0)
    key(one, Unit.OZ).put(60.0).wait(1.0).put(30.0).wait(1.0).put(12.0).wait(1.0)
    one.lift(off_s=4.0)
    key(one, Unit.G).build(*CLEAN)
    assert units(one) == [Unit.OZ, Unit.G]
    assert one.verdicts(2) == ALL_PASS


def test_a_wrong_guess_is_put_right_by_the_next_bowl(cook: Hire) -> None:
    """A jug of 20 oz looks like a bowl of 20 g: the scale's steps cannot tell them apart."""
    one = cook(scale=Scale(labelled=False, lag_s=0.01)).wait(2.0)
    key(one, Unit.OZ).build(*CLEAN).put(20 * GRAMS[Unit.OZ]).wait(1.0)
    one.lift(off_s=4.0)
    assert units(one) == [Unit.OZ, Unit.G]
    one.build(*CLEAN)
    assert units(one) == [Unit.OZ, Unit.G, Unit.OZ]
    assert one.verdicts(1) == one.verdicts(one.session.build) == ALL_PASS


def test_a_scale_that_says_its_unit_is_believed(cook: Hire) -> None:
    one = cook(scale=Scale(unit=Unit.OZ, division=1.0)).wait(2.0).put(20 * GRAMS[Unit.OZ])
    assert units(one) == []
    assert one.told(BuildStarted) == []
