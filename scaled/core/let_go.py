"""A container that the hand still held while the display first stood still: then it is let go.

Every number is a starting point from simulated cooks.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from scaled.core.food import Change, Move, Successor

if TYPE_CHECKING:
    from scaled.core.belief import Belief
    from scaled.core.plan import Plan

P_HELD: Final = 0.05
"""A container rests first at more or less than it weighs,"""
HELD_S: Final = 0.5
"""... and for no longer than this, mostly."""


def let_go(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    """The container is shown at its own weight now; nothing is in it yet."""
    if belief.gestures or belief.closed or belief.origin is not None:
        return
    held = P_HELD * math.exp(-change.rest.pause_s / HELD_S)
    if held <= change.least:
        return
    density = held * plan.containers.density(change.above_g, change.rest.u_g)
    if density > change.least:
        yield density, belief.resettled(change.rest.level_g, change.rest.u_g), Move.PLACED
