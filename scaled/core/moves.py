"""What a new rest may mean under one belief: every move with its density.

Probabilities are of what cooks do, densities per gram; every number is a starting point from
simulated cooks. Moves of no weight are left out.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from itertools import chain
from typing import TYPE_CHECKING, Final

from scaled.core import gesture, set_down
from scaled.core.arrival import arriving
from scaled.core.away import (
    BELOW_ZERO_G,
    KEYED_SPREAD_G,
    P_REZEROED,
    P_SAME,
    P_SWAPPED,
    P_SWAPPED_KNOWN,
    P_UNKNOWN,
    WIDEST_G,
    bare_pan,
    holding,
    lost_density,
    off_pan,
    passing,
    pressing,
    reported,
    same_density,
)
from scaled.core.belief import DRIFT_G, Belief, Mode
from scaled.core.food import NOTHING, Change, Move, Successor, densest, fed
from scaled.core.gesture import normal
from scaled.core.hasty import HASTY, NOT_HASTY, added_unseen, finished_unseen, rise
from scaled.core.keyed import P_KEYED_AMID, by_way, keyed_amid, set_to_zero
from scaled.core.late import late
from scaled.core.leaving import P_DONE, leaving
from scaled.core.let_go import let_go, picked_up
from scaled.core.pause import same_pause_odds

if TYPE_CHECKING:
    from scaled.core.plan import Plan
    from scaled.core.rest import Rest

P_TARED: Final = 0.02
"""The tare key, before anything is in the container: an old habit."""
P_KEYED_FED: Final = 0.0006
"""The key is pressed by a cook so quick that zero was never seen at rest."""
ABRUPT_FROM: Final = 6.0
"""Smaller changes, in standard uncertainties, look abrupt whatever made them."""
PASSING_AGAIN: Final = 0.6
"""Least odds that a shoulder after one that was no rest is of the same movement."""
P_PRESSED_ON: Final = 0.3
"""A hand that was felt goes on pressing,"""
PRESSED_ON: Final = 0.05
"""... as hard as before within this share of its force,"""
PRESSED_ON_G: Final = 1.0
"""... and no closer than this."""
P_DIP: Final = 0.1
"""Share of additions before which the weight dips: else a press was let go that was no rest."""
LOOSE: Final = 0.02
"""... but the zero may be known badly, after keys were pressed or strange things weighed."""
LOOSE_ZERO_G: Final = 15.0
LITTLE: Final = 0.9
"""A rise up to this share of what is shown may be food onto a display set to zero."""
P_KEYED_MOVING: Final = 0.015
"""Who adds food in haste presses the key so often before the pan comes to rest;"""
MOVING_KEY: Final = 0.1
"""... that leaves about this share of half the rise to be shown."""


def successors(
    belief: Belief,
    rest: Rest,
    plan: Plan,
    last_g: float | None = None,
    least: float = NOTHING,
) -> Iterable[Successor]:
    """Everything the new rest may mean.

    Args:
        belief: What was believed before it.
        rest: The rest.
        plan: What the build should be.
        last_g: Level of the rest before it.
        least: Densities below this are hopeless and left out.
    """
    means = _KINDS[belief.mode](belief, Change.of(belief, rest, last_g, least), plan)
    if rest.jump is None and abs(rest.level_g - rest.left_g) < ABRUPT_FROM * rest.u_g:
        return means
    loaded = last_g is None or belief.stands_at(last_g)
    by_its_way = by_way(means, rest, loaded=loaded)
    if rest.jump is None or rest.abrupt:
        return by_its_way
    return chain(by_its_way, _keyed_amid(set_to_zero(belief, rest.jump), rest, plan, least))


def _keyed_amid(shown: Belief, rest: Rest, plan: Plan, least: float) -> Iterator[Successor]:
    """The key was pressed before the pan came to rest, as a jump of the display shows."""
    amid = plan.keys.on(shown).often(P_KEYED_AMID)
    change = Change.of(shown, rest, least=least).amid(amid)
    yield from keyed_amid(_KINDS[shown.mode](shown, change, plan), amid)


def _on_pan(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    y, u = change.rest.level_g, change.rest.u_g
    same = P_SAME * same_density(change.by_g, change.u_g)
    if same > change.least:
        yield same, belief.resettled(y, u), Move.SAME
    rezeroed = normal(y, math.hypot(KEYED_SPREAD_G, u))
    if rezeroed > change.least:
        usual = P_REZEROED if belief.gestures or belief.closed else P_TARED
        rezeroed *= plan.keys.on(belief).often(usual)
    if rezeroed > change.least:
        yield rezeroed, belief.shown_at(y, u), Move.REZEROED
    densest = same
    odds = same_pause_odds(change.rest.pause_s) if belief.gestures else 1.0
    dipped = P_DIP if change.dipped else 1.0
    for density, after, move in fed(belief, change, plan):
        food = dipped * (density if move is Move.BEGUN else density * odds)
        densest = max(densest, food)
        yield food, after, move
    yield from _seldom(belief, change.beside(densest), plan)


def _seldom(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    """What happens seldom: hopeless beside a usual meaning that fits, and then not looked into."""
    y = change.rest.level_g
    if not change.rest.settled:
        doubt = change.rest.doubt
        odds = doubt if change.again_g is None else max(doubt, PASSING_AGAIN)
        yield passing(change.by_g, odds), belief, Move.PRESSED
    elif change.by_g > 0:
        yield _pressed(change), belief, Move.PRESSED
    elif change.by_g < 0 < change.above_g:
        yield holding(-change.by_g, change.above_g - change.by_g), belief, Move.PRESSED
    if change.above_g < BELOW_ZERO_G:
        yield lost_density(y, change.rest.u_g), belief.lost(y), Move.LIFTED
    elif change.least < P_UNKNOWN / WIDEST_G:
        yield P_UNKNOWN / WIDEST_G, belief.unexplained(y), Move.UNKNOWN
    yield from let_go(belief, change, plan)
    if change.by_g < 0:
        yield from picked_up(belief, change)
    yield from late(belief, change, plan)
    yield from _keyed(belief, change, plan)
    yield from _leaving(belief, change, plan)


def _pressed(change: Change) -> float:
    """Density of a hand that rests on the bowl, perhaps still the one that was felt before."""
    anew = pressing(change.by_g)
    if change.again_g is None:
        return anew
    spread_g = math.hypot(PRESSED_ON * change.by_g, PRESSED_ON_G, change.u_g)
    return anew + P_PRESSED_ON * normal(change.again_g, spread_g)


def _keyed(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    """The tare key was pressed before the pan came to rest: then food was added, or before."""
    y = change.rest.level_g
    if change.by_g < 0:
        yield from _keyed_moving(belief, change, plan)
    if y <= 0 or change.by_g > LITTLE * y:
        return
    chance = plan.keys.on(belief).often(P_KEYED_FED)
    if chance * gesture.DENSEST <= change.least:
        return
    if chance * densest(belief, y, change.u_g, plan) <= change.least:
        return
    keyed = belief.shown_at(0.0, change.rest.u_g)
    shown = Change.of(keyed, change.rest, least=change.least / chance)
    for density, after, move in fed(keyed, shown, plan):
        # The key may have hidden some of it: zero was never seen at rest.
        yield chance * density, after.doubted(), move


def _keyed_moving(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    """Food was on its way when the key was pressed: how much is not known."""
    y, moving_g = change.rest.level_g, MOVING_KEY * rise(belief, change) / 2
    near_zero = P_KEYED_MOVING * normal(y, math.hypot(moving_g, change.rest.u_g))
    if near_zero * HASTY <= change.least:
        return
    for food in added_unseen(belief, change, plan):
        if food.seen and near_zero * food.chance > change.least:
            after = food.put_into(belief).shown_at(y, change.rest.u_g)
            yield near_zero * food.chance, after, Move.REZEROED


def _leaving(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    u = change.rest.u_g
    spread_g = plan.containers.own.spread_g if belief.zero_guessed else DRIFT_G
    lift = (1 - LOOSE) * normal(change.above_g, math.hypot(spread_g, belief.zero_u_g, u))
    lift += LOOSE * normal(change.above_g, LOOSE_ZERO_G)
    if lift > change.least:
        yield from _lifting(belief, change, plan, lift)
    if belief.gestures and not belief.fresh:
        yield from _swapped(belief, change, plan)


def _swapped(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    """The next container came so soon that the empty pan was not seen at rest."""
    u_g = math.hypot(belief.zero_u_g, change.rest.u_g)
    container = P_SWAPPED * plan.containers.density(change.above_g, u_g)
    container += P_SWAPPED_KNOWN * plan.containers.familiar(change.above_g, u_g)
    if container <= change.least and not belief.coming:
        return
    left = leaving(belief, plan)
    swapped = left.chance * left.gone
    another = swapped * container
    if another > change.least:
        after = set_down.started(belief, change.rest, len(plan.steps), belief.end())
        yield another, after, Move.PLACED
    if belief.coming:
        for density, after, move in arriving(belief, change, plan, belief.end()):
            yield P_SWAPPED * swapped * density, after, move


def _lifting(belief: Belief, change: Change, plan: Plan, lift: float) -> Iterator[Successor]:
    # A shoulder near zero tells that the pan is empty, not where its zero is.
    y = change.rest.level_g if change.rest.settled else None
    nothing = 1.0
    for food in added_unseen(belief, change, plan):
        nothing -= food.chance
        if belief.ahead in {(), food.group}:
            after = food.put_into(belief).lifted(y)
            yield lift * food.chance * P_DONE, after, Move.LIFTED
    for chance, after in finished_unseen(belief, change, plan):
        nothing -= chance
        yield lift * chance * P_DONE, after.lifted(y), Move.LIFTED
    yield lift * nothing * leaving(belief, plan).chance, belief.lifted(y), Move.LIFTED
    if not belief.ahead:
        # What is taken back does not show as a rise.
        now = gesture.intent(plan.aim(belief.group), belief.net_g, belief.gestures)
        doubted = belief.doubted().lifted(y)
        yield lift * NOT_HASTY * P_DONE * now.back, doubted, Move.LIFTED


_KINDS: Final = {
    Mode.ON: _on_pan,
    Mode.OFF: off_pan,
    Mode.EMPTY: bare_pan,
    Mode.REPORTED: reported,
}
