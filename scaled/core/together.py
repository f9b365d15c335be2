"""Several ingredients in one change: nobody saw the pan at rest between them.

Only their sum is known, so what this yields is told as joint. Densities are per gram; every
number is a starting point from simulated cooks.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from scaled.core import gesture
from scaled.core.gesture import normal

if TYPE_CHECKING:
    from scaled.core.belief import Belief
    from scaled.core.plan import Plan

P_TOGETHER: Final = 0.04
"""One more ingredient without a rest before it, where the one before wanted another gesture."""
P_LEFT_OUT: Final = 0.03
"""... and it is not the next one, but the one after that."""

Group = tuple[int, ...]


def together(
    belief: Belief, by_g: float, u_g: float, plan: Plan
) -> Iterator[tuple[float, Group, bool]]:
    """The open step's rest and others, or others alone once it is done.

    Args:
        belief: Before the change; one step is open.
        by_g: How much heavier the build became, above 0.
        u_g: Standard uncertainty of that.
        plan: What the build should be.

    Yields:
        Density, the steps, and whether the open one is among them.
    """
    now = gesture.intent(plan.aim(belief.group), belief.net_g, belief.gestures)
    to_come = belief.to_come
    missing_g = plan.aim(belief.group).usual_g
    missing_g -= belief.net_g if belief.gestures else 0.0
    if missing_g > 0:
        for chance, others in _others(to_come):
            group = (*belief.group, *others)
            yield now.more * chance * _density(missing_g, group, by_g, u_g, plan), group, True
    if belief.gestures and to_come:
        missing_g = plan.aims[to_come[0]].usual_g
        for chance, others in _others(to_come[1:]):
            group = (to_come[0], *others)
            yield now.done * chance * _density(missing_g, group, by_g, u_g, plan), group, False


def _others(to_come: Group) -> Iterator[tuple[float, Group]]:
    if to_come:
        yield P_TOGETHER, to_come[:1]
    if len(to_come) > 1:
        yield P_TOGETHER * P_LEFT_OUT, to_come[1:2]
        yield P_TOGETHER * P_TOGETHER, to_come[:2]


def _density(missing_g: float, group: Group, by_g: float, u_g: float, plan: Plan) -> float:
    """Density of what is missing in the first step and all, or one gesture, of the others."""
    aims = [plan.aims[step] for step in group]
    wholes = [aim.usual_g for aim in aims]
    over_g = by_g - missing_g - math.fsum(wholes[1:])
    spread_g = max(aim.spread for aim in aims) * math.hypot(*wholes) + gesture.FINE_G
    exact = normal(over_g, math.hypot(spread_g, u_g))
    # The last may want more gestures still.
    sizes = {wholes[-1], aims[-1].scoop_g}
    scooped = 0.0
    for size_g in sizes:
        spread_g = gesture.GESTURE_SPREAD * math.hypot(missing_g, *wholes[1:-1], size_g)
        off_g = over_g + wholes[-1] - size_g
        scooped += normal(off_g, math.hypot(spread_g + gesture.FINE_G, u_g))
    return gesture.EXACT * exact + (1 - gesture.EXACT) * scooped / len(sizes)
