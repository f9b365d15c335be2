"""What must never be said as sure, because the weights allow another story."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from scaled.core.events import OutOfOrder
from tests.core.scripted import BOWL_G, GRAIN, assert_never_wrong
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
