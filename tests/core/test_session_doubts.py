"""What must never be said as sure, because the weights allow another story."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from scaled.core.events import BuildStarted, OddContainer, OutOfOrder
from scaled.core.live import Ask, Odd
from tests.core.scripted import BOWL_G, CLEAN, GRAIN, assert_never_wrong
from tests.core.scripted_scale import Scale

if TYPE_CHECKING:
    from tests.core.scripted import Hire


@pytest.mark.parametrize("grain", [(40.0, 41.0, 39.0), (40.0, 40.0, 40.0), (39.0, 40.0, 41.0)])
def test_a_step_left_out_after_one_of_several_scoops_is_never_given_its_food(
    cook: Hire, grain: tuple[float, ...]
) -> None:
    one = cook().build(grain, (30.0,), (12.0,)).start().close()
    assert_never_wrong(one, {"beans": 0.0})


def test_no_step_is_called_out_of_order_when_the_one_before_was_under(cook: Hire) -> None:
    one = cook().build(GRAIN, (40.0,), (30.0,), (12.0,))
    assert one.told(OutOfOrder) == []


def test_no_step_is_called_out_of_order_when_two_came_together(cook: Hire) -> None:
    one = cook().build(GRAIN, (90.0,), (12.0,))
    assert one.told(OutOfOrder) == []


def test_too_much_in_the_first_step_and_a_new_bowl(cook: Hire) -> None:
    scale = Scale(rate_hz=5, division=0.5)
    one = cook(scale=scale, division_g=0.5).start().put(47.1, 47.4, 41.3, pause_s=3.5)
    one.lift(off_s=1.6)
    one.put(BOWL_G)
    assert_never_wrong(one, {"grain": 135.8, "beans": 0.0, "sauce": 0.0, "seeds": 0.0})


@pytest.mark.parametrize("amount_g", [200.0, 300.0, 500.0])
def test_far_too_much_in_one_go_is_never_asked_for_more(cook: Hire, amount_g: float) -> None:
    now = cook().start().put(amount_g).wait(2.0).live
    assert now.ask in {Ask.TAKE_BACK, Ask.CHECK}


@pytest.mark.parametrize("amount_g", [130.0, 150.0, 200.0])
def test_far_too_much_of_the_next_step_is_seen(cook: Hire, amount_g: float) -> None:
    now = cook().start().put(*GRAIN).wait(2.0).put(amount_g).wait(2.0).live
    assert now.ask in {Ask.TAKE_BACK, Ask.CHECK}


def test_a_spill_before_the_bowl_is_no_container(cook: Hire) -> None:
    one = cook().wait(2.0).put(8.0).wait(2.0).put(BOWL_G)
    for gestures in CLEAN:
        one.put(*gestures)
    one.lift(off_s=4.0)
    assert_never_wrong(one, {"grain": 120.0})


def test_a_wrong_bowl_is_not_taken_for_food(cook: Hire) -> None:
    one = cook().wait(2.0).put(250.0).wait(3.0)
    assert (one.live.ask, one.live.net_g, one.live.odd) == (Ask.ADD, 0.0, Odd(None, 250.0))
    assert all(started.tare_g != BOWL_G for started in one.told(BuildStarted))


@pytest.mark.parametrize("change_g", [-40.0, 90.0, 150.0])
def test_a_build_back_with_another_weight_is_back(cook: Hire, change_g: float) -> None:
    one = cook().start().put(*GRAIN).wait(1.0).put(60.0)
    held_g = one.scale.load_g
    for by_g in (-held_g, held_g + change_g):
        one.put(by_g).wait(2.0)
    assert one.live.ask is not Ask.RETURN


def test_the_time_a_lifted_build_waits_for_the_end_is_not_its_own(cook: Hire) -> None:
    one = cook().start().put(*GRAIN).wait(1.0)
    one.lift(off_s=600.0)
    one.close()
    assert one.finished().duration_s < 60.0


@pytest.mark.parametrize("bowl_g", [25.0, 191.0])
def test_a_container_of_another_weight_is_told(cook: Hire, bowl_g: float) -> None:
    one = cook().wait(2.0).put(bowl_g).wait(2.0)
    for gestures in CLEAN:
        one.put(*gestures)
    one.lift(off_s=4.0)
    (odd,) = one.told(OddContainer)
    assert odd.tare_g == pytest.approx(bowl_g, abs=1.0)
    assert odd.expected_g == BOWL_G
    assert_never_wrong(one, {})


@pytest.mark.parametrize("bowl_g", [40.0, 60.0])
def test_a_container_that_could_hold_food_makes_no_step_wrong(cook: Hire, bowl_g: float) -> None:
    one = cook().wait(2.0).put(bowl_g).wait(2.0)
    for gestures in CLEAN:
        one.put(*gestures)
    one.lift(off_s=4.0)
    assert_never_wrong(one, {})
