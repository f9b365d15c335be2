"""What the screen calls good, so that nobody is sent after a gram that nobody can weigh."""

from __future__ import annotations

import pytest

from scaled.core.belief import Belief, Mode
from scaled.core.good import good_band
from scaled.core.plan import Plan
from tests.core.scripted import dish

PLAN = Plan.of(dish())
BAND = PLAN.aim((1,)).band  # beans 60 g, 54 to 66


def good(u_g: float) -> tuple[float, float]:
    """Limits for beans of 60 g that are known like this, on a scale of 1 g."""
    beans = Belief(Mode.ON, 0.0, 240.0, u_g, 180.0, 0.0, (1,), (2, 3), gestures=1)
    band = good_band(beans, PLAN, 1.0, called_good=False)
    return band.low_g, band.high_g


def test_what_is_known_well_is_good_a_little_inside_its_limits() -> None:
    assert good(0.4) == pytest.approx((BAND.low_g + 0.6, BAND.high_g - 0.6))


def test_no_more_is_asked_of_a_weight_than_is_known_of_it() -> None:
    assert good(9.0) == pytest.approx((BAND.target_g - 9.0, BAND.target_g + 9.0))
