"""When a portion is good for the screen: nothing more need be done to it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from scaled.core.verdict import Band

if TYPE_CHECKING:
    from scaled.core.belief import Belief
    from scaled.core.plan import Plan

CLEAR_U: Final = 1.5
"""A portion is good for the screen when it is inside its limits by so many standard uncertainties:
so it is truly inside in 14 of 15 at worst,"""
MOST_CLEAR: Final = 0.3
"""... but at most by this share of what is allowed, lest a narrow step never be good."""
FINEST: Final = 1.0
"""Nobody can be asked to hit a target closer than this, in divisions, or than is known,"""
STAYS: Final = 1.5
"""... and what was called good stays good within so many, lest the display's flicker decides."""


def good_band(best: Belief, plan: Plan, division_g: float, *, called_good: bool) -> Band:
    """Weights of the open step that need nothing more: they pass, and are not near a limit.

    Of a weight known worse than the tolerance no more is asked than that it may be the target.

    Args:
        best: The build as it most probably stands.
        plan: What it should be.
        division_g: Smallest displayed step.
        called_good: What is in the step was called good, and nothing was done to it since.
    """
    band, u_g = plan.aim(best.group).band, best.net_u_g
    goal = plan.rule.goal(band, u_g)
    clear_u, most, finest = (0.0, 0.0, STAYS) if called_good else (CLEAR_U, MOST_CLEAR, FINEST)
    target_g, finest_g = band.target_g, max(finest * division_g, u_g)
    low_g = band.low_g + min(clear_u * u_g, most * (target_g - band.low_g))
    high_g = band.high_g - min(clear_u * u_g, most * (band.high_g - target_g))
    return Band(
        min(max(low_g, goal.low_g), target_g - finest_g),
        target_g,
        max(min(high_g, goal.high_g), target_g + finest_g),
    )
