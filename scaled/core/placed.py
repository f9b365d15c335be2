"""What a new rest may mean when a container comes onto the pan: empty, or with food in it.

Probabilities are of what cooks do, densities per gram; every number is a starting point from
simulated cooks.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from scaled.core import gesture, set_down
from scaled.core.arrival import arriving
from scaled.core.belief import Belief, Mode
from scaled.core.food import Change, Move, Successor
from scaled.core.gesture import flat
from scaled.core.under_way import under_way

if TYPE_CHECKING:
    from scaled.core.plan import Plan

P_PLACED_FED: Final = 0.05
"""A container and its first food with no rest between,"""
EXCHANGED: Final = 0.02
"""... in exchange for something that stood on the pan, all in one movement."""
P_PLACED_KEYED: Final = 0.01
"""A container is set down and set to zero by the key before it was seen at rest."""
P_FILLED: Final = 0.005
"""A bowl is set down that was filled in part where nobody weighed it."""
P_HELD: Final = 0.02
"""A container is set down with a hand still on it, pressing with up to ``HELD_G``."""
HELD_G: Final = 200.0
LADEN_G: Final = 5.0
"""Less than this on the bare pan is crumbs, or a zero that has drifted."""


def placed(belief: Belief, change: Change, plan: Plan, chance: float) -> Iterator[Successor]:
    """A new container, alone or with its first food in it, or a build from another scale.

    Args:
        belief: No build stands on the pan.
        change: How much heavier the pan is.
        plan: What the build should be.
        chance: Probability that a container comes next.
    """
    ended = belief.end() if belief.mode is Mode.OFF else None
    begun = set_down.started(belief, change.rest, len(plan.steps), ended)
    alone = chance * plan.containers.density(change.above_g, change.rest.u_g)
    if alone > change.least:
        yield alone, begun, Move.PLACED
    odds = EXCHANGED if laden(belief) else 1.0
    yield from _placed_fed(begun, change, plan, (chance, chance * P_PLACED_FED * odds))
    yield from _placed_keyed(begun, change, plan, chance)
    # A bowl with food in it: from another scale, or filled where nobody weighed it.
    for density, after, move in arriving(belief, change, plan, ended):
        yield chance * density, after, move
    filled = chance * P_FILLED
    for density, after in under_way(begun, plan, change.least / filled):
        yield filled * density, after, Move.PLACED


def _placed_fed(
    begun: Belief, change: Change, plan: Plan, chances: tuple[float, float]
) -> Iterator[Successor]:
    """A container under a hand that holds it, or with its first food.

    It was never weighed alone: its weight is the written one of one that is right.

    Args:
        begun: What stands there taken for an empty container.
        change: How much heavier the pan is.
        plan: What the build should be.
        chances: Probabilities that a container comes next, and that it comes with food.
    """
    aim, right = plan.aims[0], plan.containers.right
    each, together = (chance / len(right) for chance in chances)
    for known in right:
        more_g = change.above_g - known.tare_g
        if more_g <= 0:
            continue
        u_base = math.hypot(known.spread_g, change.rest.u_g)
        held = each * P_HELD * flat(more_g, HELD_G)
        density = together * gesture.added(aim, 0.0, 0, more_g, u_base)
        if max(held, density) <= change.least:
            continue
        started = set_down.standing(begun, known.tare_g, u_base)
        if held > change.least:
            yield held, started.at(started.base_g, u_base), Move.PLACED
        if density > change.least:
            scoops = max(1, round(more_g / aim.scoop_g))
            yield density, started._replace(gestures=scoops), Move.PLACED


def _placed_keyed(begun: Belief, change: Change, plan: Plan, chance: float) -> Iterator[Successor]:
    """A container was set down and set to zero with the key; what is shown is its first food."""
    y, aim = change.rest.level_g, plan.aims[0]
    if y <= 0:
        return
    density = chance * P_PLACED_KEYED * gesture.added(aim, 0.0, 0, y, change.rest.u_g)
    if density > change.least:
        tared = set_down.tared(begun, 0.0, plan.containers.own.tare_g)
        yield density, tared._replace(gestures=max(1, round(y / aim.scoop_g))), Move.PLACED


def laden(belief: Belief) -> bool:
    """Whether something that is no build was last seen on the bare pan."""
    return belief.mode is Mode.EMPTY and belief.level_g - belief.zero_g > LADEN_G
