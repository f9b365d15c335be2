"""When a build has all that it gets, here or at all."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scaled.core.belief import Belief
    from scaled.core.plan import Plan


def complete(belief: Belief, plan: Plan) -> bool:
    """Whether every step has its food and the last one is not short."""
    if belief.ahead or not belief.gestures:
        return False
    return not belief.clear or belief.net_g >= plan.aim(belief.group).band.low_g


def passed_on(belief: Belief, plan: Plan) -> bool:
    """Whether all that is done at this position has its food, and later ones are to go on."""
    coming = belief.ahead if belief.gestures else belief.group
    if plan.beyond.isdisjoint(coming[:1]):
        return False
    enough = belief.net_g >= plan.aim(belief.group).band.low_g
    return enough or not belief.gestures or not belief.clear
