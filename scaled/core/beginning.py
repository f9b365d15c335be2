"""What may stand on the pan when the station begins to look.

Every number is a starting point from simulated cooks.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from scaled.core import set_down
from scaled.core.arrival import arriving
from scaled.core.away import WIDEST_G
from scaled.core.belief import DRIFT_G, Belief, empty
from scaled.core.food import Change
from scaled.core.gesture import flat, normal
from scaled.core.under_way import under_way

if TYPE_CHECKING:
    from scaled.core.coming import Coming
    from scaled.core.plan import Plan
    from scaled.core.rest import Rest

P_BARE: Final = 0.70
P_LEFT: Final = 0.02
"""Something lies on the pan before the day begins, a cloth or a liner, up to ``LEFT_G``."""
LEFT_G: Final = 300.0
P_ANYTHING: Final = 0.05
"""... or whatever else, anywhere in the scale's range."""
P_STANDING: Final = 0.22
"""The container is there already, or a build from another scale."""
P_TARED: Final = 0.01
"""... and the display was set to zero over it."""
P_BUILDING: Final = 0.02
"""Somebody is building already."""


def first(rest: Rest, plan: Plan, coming: tuple[Coming, ...] = ()) -> list[tuple[float, Belief]]:
    """What the very first rest may be: an empty pan, the container or a build already on it."""
    y, u = rest.level_g, rest.u_g
    nothing = empty(0.0, u)._replace(coming=coming)
    zero = normal(y, math.hypot(2 * DRIFT_G, u))
    bare = P_BARE * zero + P_ANYTHING / WIDEST_G + P_LEFT * flat(y, LEFT_G)
    standing = set_down.started(nothing, rest, len(plan.steps), None)
    right = plan.containers.right
    tared = (set_down.tared(standing, y, known.tare_g) for known in right)
    return [
        (bare, nothing.bare(y, u)),
        (P_STANDING * plan.containers.familiar(y, u), standing),
        *((P_TARED * zero / len(right), belief) for belief in tared),
        *(
            (P_STANDING * density, belief)
            for density, belief, _ in arriving(nothing, Change.of(nothing, rest), plan, None)
        ),
        *((P_BUILDING * density, belief) for density, belief in under_way(standing, plan)),
    ]
