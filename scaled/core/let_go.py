"""What was shown was not what stays: a container still held is let go, a tool is picked up again.

Every number is a starting point from simulated cooks.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from scaled.core.away import same_density
from scaled.core.food import Change, Move, Successor

if TYPE_CHECKING:
    from scaled.core.belief import Belief
    from scaled.core.plan import Plan

P_LET_GO: Final = 0.05
"""A container rests first at more or less than it weighs,"""
HELD_S: Final = 0.5
"""... and for no longer than this, mostly."""
P_PICKED_UP: Final = 0.001
"""A tool lay on the pan, as heavy as food that could have come then, and is picked up."""


def let_go(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    """The container is shown at its own weight now; nothing is in it yet."""
    if belief.gestures or belief.closed or belief.origin is not None:
        return
    held = P_LET_GO * math.exp(-change.rest.pause_s / HELD_S)
    if held <= change.least:
        return
    density = held * plan.containers.density(change.above_g, change.rest.u_g)
    if density > change.least:
        yield density, belief.resettled(change.rest.level_g, change.rest.u_g), Move.PLACED


def picked_up(belief: Belief, change: Change) -> Iterator[Successor]:
    """All that the open step got is gone, to the last gram: it was no food."""
    if not belief.gestures or len(belief.group) > 1:
        return
    y, u = change.rest.level_g, change.rest.u_g
    density = P_PICKED_UP * same_density(y - belief.start_g, math.hypot(u, belief.start_u_g))
    if density > change.least:
        yield density, belief.fed(y, u, 0), Move.PRESSED
