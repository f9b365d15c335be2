"""What a new rest may mean while no build stands on the pan: returned, gone, strange things.

Probabilities are of what cooks do, densities per gram; every number is a starting point from
simulated cooks. Moves of no weight are left out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from scaled.core import set_down
from scaled.core.arrival import arriving
from scaled.core.belief import DRIFT_G, Belief, Mode
from scaled.core.food import Change, Move, Successor, fed
from scaled.core.gesture import flat, log_flat, normal
from scaled.core.keyed_back import P_BRIEFLY, P_KEYED_BACK, hides_return, keyed_back
from scaled.core.leaving import leaving
from scaled.core.placed import laden, placed

if TYPE_CHECKING:
    from scaled.core.plan import Plan

P_SAME: Final = 0.20
"""A bump, a tool leaning in, a rest cut in two: the pan comes back to where it was."""
SAME_SPREAD_G: Final = 0.15
"""Crumbs and creep that even a fine scale shows between two rests of one load."""
P_PRESSED: Final = 0.010
"""A tool or hand that holds still for long enough to look like a rest,"""
PRESS_G: Final = (5.0, 2000.0)
"""... from a spoon's tip to a resting hand: as often 10 to 20 g as 100 to 200."""
P_HELD: Final = 0.001
"""A hand under the bowl carries a part of it for long enough to look like a rest, and rather more
than less."""
PASSING_G: Final = (4.0, 400.0)
"""A shoulder that is no rest at all, but a knock, a press, an indicator that averages them, is as
often 10 to 20 g from the level before as 100 to 200."""
P_UNKNOWN: Final = 0.002
"""Something that no other move explains,"""
WIDEST_G: Final = 6000.0
"""... anywhere in the range of a kitchen portion scale."""
P_REZEROED: Final = 0.005
"""The tare or zero key, by habit."""
KEYED_SPREAD_G: Final = 0.3
"""What was set to zero with the key is shown within this of it: a hand had just moved."""
BELOW_ZERO_G: Final = -5.0
"""No load is less than none: a level this far below zero means that the zero was wrong."""
P_LOST: Final = 0.01
"""... because a key press went unseen, and now the pan is empty,"""
P_LOST_ZERO: Final = 0.03
"""... or because what stood there when the station began to look was no empty pan."""
P_PUT_RIGHT: Final = 0.2
"""A display that shows a wrong zero over an empty pan is put right with the key."""
P_PLACED: Final = 0.80
"""What comes onto a bare pan is the next container."""
P_FED_OFF: Final = 0.1
"""Share of returns with food added while the bowl was off, or so soon after that its return was
never seen."""
P_SWAPPED: Final = 0.004
"""The next container comes so soon that the empty pan is never seen at rest;"""
P_SWAPPED_KNOWN: Final = 0.012
"""... one of the known ones so much oftener: what is lighter by anything may be so much else."""
P_TIPPED_OVER: Final = 0.005
"""Share of returns in another container, one that is right: the first one leaked, or is wanted,"""
STUCK_G: Final = 1.0
"""... and about this much stuck to it."""
P_CHANGED: Final = 0.03
"""Share of returns lighter or heavier than any portion explains, by up to ``CHANGED_G``."""
CHANGED_G: Final = 300.0
P_LANDING: Final = 0.9
"""A container bounces as it is set down: a shoulder on the way is hardly ever a rest,"""
BOUNCE: Final = 0.1
"""... and about this share of its weight off."""
P_FOREIGN: Final = 0.05
"""A tool, a hand, a wrong container on the empty pan, up to ``FOREIGN_G``."""
FOREIGN_G: Final = 1000.0
P_SPILT: Final = 0.02
"""Something stays on the pan and is there to stay, up to ``SPILT_G``."""
SPILT_G: Final = 50.0


def off_pan(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    """The build was lifted off."""
    # A zero that was wrong explains more than a build that was back for a moment.
    if change.above_g < BELOW_ZERO_G or not hides_return(belief, change.rest):
        yield from _lifted_off(belief, change, plan)
        return
    yield from keyed_back(belief, change, plan)
    for density, after, move in _lifted_off(belief, change.amid(P_BRIEFLY), plan):
        yield P_BRIEFLY * density, after, move


def _lifted_off(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    y, u = change.rest.level_g, change.rest.u_g
    same = P_SAME * same_density(change.above_g, u)
    if same > change.least:
        yield same, belief._replace(zero_g=y), Move.SAME
    if not change.rest.settled:
        yield passing(change.above_g, change.rest.doubt), belief, Move.PRESSED
    elif change.above_g > 0:
        yield pressing(change.above_g), belief, Move.PRESSED
    rezeroed = _zero_key(belief) * normal(y, math.hypot(KEYED_SPREAD_G, u))
    if rezeroed > change.least:
        yield rezeroed, belief.rezeroed(y), Move.REZEROED
    if change.above_g < BELOW_ZERO_G:
        yield from _was_back(belief, change)
        return
    yield from _back_or_next(belief, change, plan)
    yield from _put_right(belief, change, plan)


def _was_back(belief: Belief, change: Change) -> Iterator[Successor]:
    """No load is less than none: a key was pressed while the build stood there, and it is off."""
    y = change.rest.level_g
    gross_g = belief.level_g - belief.zero_g
    tared = P_KEYED_BACK * same_density(change.above_g + gross_g, change.u_g)
    if tared > change.least:
        yield tared, belief.rezeroed(y), Move.REZEROED
    yield lost_density(y, change.rest.u_g), belief.lost(y), Move.REZEROED


def bare_pan(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    """No build is under way."""
    y, u = change.rest.level_g, change.rest.u_g
    same = P_SAME * normal(change.above_g, math.hypot(DRIFT_G, u))
    if same > change.least:
        yield same, belief.bare(y, u), Move.SAME
    if change.above_g < BELOW_ZERO_G:
        yield lost_density(y, u), belief.bare(y, u), Move.SAME
    else:
        stays = P_SAME * same_density(change.by_g, change.u_g) if laden(belief) else 0.0
        yield P_FOREIGN / FOREIGN_G + stays, belief.at(y, u), Move.PRESSED
        if not change.rest.settled:
            yield _landing(change, plan), belief, Move.PRESSED
    spilt = P_SPILT * flat(change.above_g, SPILT_G)
    if spilt > change.least:
        yield spilt, belief.bare(y, u), Move.SAME
    rezeroed = _zero_key(belief) * normal(y, math.hypot(KEYED_SPREAD_G, u))
    if rezeroed > change.least:
        yield rezeroed, belief.bare(y, u), Move.REZEROED
    yield from _back_or_next(belief, change, plan)
    yield from _put_right(belief, change, plan)


def _landing(change: Change, plan: Plan) -> float:
    """Density of a shoulder while a container is being set down."""
    spread_g = BOUNCE * abs(change.above_g)
    return P_LANDING * plan.containers.density(change.above_g, math.hypot(spread_g, change.u_g))


def reported(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    """A build that was ended by a key still stands there: it means nothing until it leaves."""
    y, u = change.rest.level_g, change.rest.u_g
    gone = normal(change.above_g, math.hypot(DRIFT_G, u))
    if gone > change.least:
        yield gone, belief.bare(y, u), Move.LIFTED
    same = P_SAME * same_density(change.by_g, u)
    if same > change.least:
        yield same, belief.at(y, u), Move.SAME
    if not change.rest.settled:
        yield passing(change.by_g, change.rest.doubt), belief, Move.PRESSED
    elif change.by_g > 0:
        yield pressing(change.by_g), belief, Move.PRESSED
    yield P_UNKNOWN / WIDEST_G, belief.at(y, u), Move.UNKNOWN
    if change.by_g < BELOW_ZERO_G:
        yield lost_density(y, u), belief.bare(y, u), Move.LIFTED
    swapped = P_SWAPPED * plan.containers.density(change.above_g, u)
    if swapped > change.least:
        yield swapped, set_down.started(belief, change.rest, len(plan.steps), None), Move.PLACED
    for density, after, move in arriving(belief, change, plan, None):
        yield P_SWAPPED * density, after, move


def _put_right(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    """Somebody saw a wrong zero, pressed the key, and went on before the pan came to rest."""
    if abs(belief.zero_g) > -BELOW_ZERO_G:
        right = (
            belief.bare(0.0, belief.level_u_g)
            if belief.mode is Mode.EMPTY
            else belief.rezeroed(0.0)
        )
        again = Change.of(right, change.rest, least=change.least).amid(P_PUT_RIGHT)
        for density, after, move in _back_or_next(right, again, plan):
            yield P_PUT_RIGHT * density, after, move


def _back_or_next(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    """The build comes back, or the next container comes."""
    if belief.mode is Mode.EMPTY:
        yield from placed(belief, change, plan, P_PLACED)
        return
    y, u = change.rest.level_g, change.rest.u_g
    back = belief._replace(mode=Mode.ON, zero_guessed=False)
    left = leaving(belief, plan)
    returned = left.back * same_density(change.by_g, change.u_g)
    if returned > change.least:
        yield returned, back.at(y, u)._replace(clear=not belief.strange), Move.RETURNED
    changed = left.back * P_CHANGED * flat(abs(change.by_g), CHANGED_G) / 2 + P_UNKNOWN / WIDEST_G
    if changed > change.least:
        yield changed, back.unexplained(y), Move.RETURNED
    yield from _tipped_over(belief, change, plan, left.back * P_TIPPED_OVER)
    fed_off = left.back * P_FED_OFF
    for density, after, _ in fed(back, change.amid(fed_off), plan):
        yield fed_off * density, after, Move.RETURNED
    if not belief.fresh:
        yield from placed(belief, change, plan, left.gone)


def _tipped_over(belief: Belief, change: Change, plan: Plan, chance: float) -> Iterator[Successor]:
    """The build comes back in another container."""
    y, right = change.rest.level_g, plan.containers.right
    for known in right:
        if known.fits(belief.tare_g, belief.tare_u_g):
            continue
        spread_g = math.hypot(known.spread_g, STUCK_G, change.u_g)
        tipped = normal(change.above_g - known.tare_g - belief.food_g, spread_g)
        if chance * tipped > len(right) * change.least:
            other = belief.shown_at(y, math.hypot(STUCK_G, change.rest.u_g))
            zero_g, zero_u_g = belief.zero_g, belief.zero_u_g
            other = other._replace(
                mode=Mode.ON, zero_g=zero_g, zero_u_g=zero_u_g, zero_guessed=False
            )
            yield chance * tipped / len(right), other, Move.RETURNED


def _zero_key(belief: Belief) -> float:
    """Probability of the key over an empty pan: a wrong zero asks for it."""
    return P_PUT_RIGHT if abs(belief.zero_g) > -BELOW_ZERO_G else P_REZEROED


def lost_density(level_g: float, u_g: float) -> float:
    """Density of an empty pan shown that much below what was taken for zero."""
    return P_LOST / WIDEST_G + P_LOST_ZERO * normal(level_g, math.hypot(DRIFT_G, u_g))


def pressing(force_g: float) -> float:
    """Density of a press that strong which looks like a rest."""
    return P_PRESSED * log_flat(force_g, PRESS_G)


def holding(part_g: float, gross_g: float) -> float:
    """Density of a hand that carries so much of a load."""
    return 3 * P_HELD * (part_g / gross_g) ** 2 / gross_g


def passing(change_g: float, odds: float) -> float:
    """Density of a shoulder that is no rest, so far from the level before it.

    Args:
        change_g: How far, upwards or downwards.
        odds: Odds that a shoulder like this is none.
    """
    return odds * log_flat(abs(change_g), PASSING_G)


def same_density(change_g: float, u_g: float) -> float:
    """Density of a change that is none."""
    return normal(change_g, math.hypot(u_g, SAME_SPREAD_G))
