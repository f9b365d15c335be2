"""What a new rest may mean under one belief: every move with its density.

Probabilities are of what cooks do, densities per gram; every number is a starting point from
simulated cooks. Moves of no weight are left out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from scaled.core import gesture
from scaled.core.belief import Belief, Mode, empty
from scaled.core.food import NOTHING, Change, Move, Successor, fed
from scaled.core.gesture import flat, normal

if TYPE_CHECKING:
    from scaled.core.plan import Plan
    from scaled.core.settle import Rest


P_SAME: Final = 0.20
"""A bump, a tool leaning in, a rest cut in two: the pan comes back to where it was."""
SAME_SPREAD_G: Final = 0.15
P_PRESSED: Final = 0.010
STRONGEST_PRESS_G: Final = 2000.0
P_UNKNOWN: Final = 0.002
WIDEST_G: Final = 6000.0
P_REZEROED: Final = 0.002
P_KEYED_FED: Final = 0.0006
"""... by a cook so quick that zero was never seen at rest."""
ABRUPT_KEY: Final = 0.9
"""Share of key presses whose jump is seen without a reading between."""
ABRUPT_LOAD: Final = 0.03
"""Share of moved loads that look so: only fast scales that send few readings."""
ABRUPT_FROM: Final = 6.0
"""Smaller changes, in standard uncertainties, look abrupt whatever made them."""
P_LIFT_EARLY: Final = 0.03
P_LIFT_DONE: Final = 0.60
ZERO_SPREAD_G: Final = 0.5
"""An empty pan comes back to zero within this (crumbs, creep)."""
BELOW_ZERO_G: Final = -5.0
"""No load is less than none: a level this far below zero means that the zero was wrong."""
P_LOST: Final = 0.01
"""... because a key press went unseen, and now the pan is empty."""
P_PUT_RIGHT: Final = 0.2
"""A display that shows a wrong zero over an empty pan is put right with the key."""
LOOSE: Final = 0.02
"""... but the zero may be known badly, after keys were pressed or strange things weighed."""
LOOSE_ZERO_G: Final = 15.0
HASTY: Final = 0.3
"""Food was added and the bowl lifted before the pan came to rest, if the display rose so far."""
NOT_HASTY: Final = 0.002
"""... and if it did not."""
HASTY_SHARE: Final = 0.3
"""Rise that may be food, as a share of the open step's gesture."""
P_RETURN: Final = 0.65
P_RETURN_DONE: Final = 0.15
P_GONE: Final = 0.80
"""A lifted build does not come back: the next container comes."""
SKIPPED: Final = 0.2
"""... for each step that it lacks,"""
ABANDONED: Final = 0.05
"""... or because the cook gave it up."""
P_FED_OFF: Final = 0.06
"""Food added while the bowl was off, or so soon after that its return was never seen."""
P_SWAPPED: Final = 0.003
"""A new container so soon that the empty pan was never seen at rest."""
P_PLACED: Final = 0.80
P_PLACED_FED: Final = 0.05
"""A container and its first food with no rest between."""
STRANGE_CONTAINER: Final = 0.005
"""Share of containers that are not the profile's, up to ``STRANGE_CONTAINER_G``."""
STRANGE_CONTAINER_G: Final = 300.0


def first(rest: Rest, plan: Plan) -> list[tuple[float, Belief]]:
    """What the very first rest may be: an empty pan, or the container already on it."""
    y, u = rest.level_g, rest.u_g
    zero = normal(y, math.hypot(2 * ZERO_SPREAD_G, u))
    standing = empty(0.0, u).started(rest, len(plan.steps), None)
    tared = standing._replace(zero_g=y - plan.tare_g)
    return [
        (0.70 * zero + 0.05 / WIDEST_G, empty(y, u)),
        (0.22 * _container(y, u, plan), standing),
        (0.03 * zero, tared),
    ]


def successors(belief: Belief, rest: Rest, plan: Plan) -> Iterator[Successor]:
    """Everything the new rest may mean."""
    key, load = (ABRUPT_KEY, ABRUPT_LOAD) if rest.abrupt else (1 - ABRUPT_KEY, 1 - ABRUPT_LOAD)
    small = abs(rest.level_g - belief.level_g) < ABRUPT_FROM * rest.u_g
    for density, after, move in _KINDS[belief.mode](belief, Change.of(belief, rest), plan):
        yield density * (1.0 if small else key if move is Move.REZEROED else load), after, move


def _on_pan(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    y, u = change.rest.level_g, change.rest.u_g
    same = P_SAME * _same(change.by_g, change.u_g)
    if same > NOTHING:
        yield same, belief.at(y, u), Move.SAME
    if change.by_g > 0:
        yield P_PRESSED / STRONGEST_PRESS_G, belief, Move.PRESSED
    if change.above_g < BELOW_ZERO_G:
        yield P_LOST / WIDEST_G, belief.lifted(y), Move.LIFTED
    else:
        yield P_UNKNOWN / WIDEST_G, belief.unexplained(y), Move.UNKNOWN
    rezeroed = P_REZEROED * normal(y, u)
    if rezeroed > NOTHING:
        yield rezeroed, belief.shown_at(y), Move.REZEROED
    yield from _keyed(belief, change, plan)
    yield from _leaving(belief, change, plan)
    odds = gesture.same_pause_odds(change.rest.pause_s)
    for density, after, move in fed(belief, change, plan):
        yield density if move is Move.BEGUN else density * odds, after, move


def _keyed(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    """The tare key was pressed and food added before the pan came to rest."""
    if not change.by_g < 0 < change.rest.level_g:
        return
    keyed = belief.shown_at(0.0)
    for density, after, move in fed(keyed, Change.of(keyed, change.rest), plan):
        if P_KEYED_FED * density > NOTHING:
            yield P_KEYED_FED * density, after, move


def _leaving(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    u = change.rest.u_g
    lift = (1 - LOOSE) * normal(change.above_g, math.hypot(ZERO_SPREAD_G, u))
    lift += LOOSE * normal(change.above_g, LOOSE_ZERO_G)
    if lift > NOTHING:
        yield from _lifting(belief, change, plan, lift)
    if not belief.fresh and belief.gestures:
        swapped = P_SWAPPED * SKIPPED ** len(belief.ahead)
        swapped *= _container(change.above_g, u, plan)
        if swapped > NOTHING:
            after = belief.started(change.rest, len(plan.steps), belief.end())
            yield swapped, after, Move.PLACED


def _lifting(belief: Belief, change: Change, plan: Plan, lift: float) -> Iterator[Successor]:
    ahead = belief.ahead
    # A shoulder near zero tells that the pan is empty, not where its zero is.
    y = change.rest.level_g if change.rest.settled else belief.zero_g
    aim = plan.aim(belief.group)
    now = gesture.intent(aim, belief.net_g, belief.gestures)
    chance = P_LIFT_EARLY + (0.0 if ahead else P_LIFT_DONE * now.done)
    rise_g = change.rest.peak_g - belief.level_g
    rose = rise_g > max(HASTY_SHARE * aim.scoop_g, 4 * change.rest.u_g)
    hasty = HASTY if rose else NOT_HASTY
    yield lift * chance * (1 - hasty), belief.lifted(y), Move.LIFTED
    if len(ahead) > 1:
        return
    # What it weighed in the end is not known: something between the last rest and the peak.
    half_g = max(rise_g, 0.0) / 2
    level_g, u = belief.level_g + half_g, math.hypot(half_g, belief.level_u_g)
    if not ahead:
        unseen = belief.at(level_g, u)._replace(gestures=belief.gestures + 1, clear=False)
        more = lift * hasty * P_LIFT_DONE * (now.more + now.back)
        yield more, unseen.lifted(y), Move.LIFTED
    elif belief.gestures:
        unseen = belief.opened(ahead).at(level_g, u)._replace(gestures=1, clear=False)
        yield lift * hasty * P_LIFT_DONE * now.done, unseen.lifted(y), Move.LIFTED


def _off_pan(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    y, u = change.rest.level_g, change.rest.u_g
    same = P_SAME * _same(change.above_g, u)
    if same > NOTHING:
        yield same, belief._replace(zero_g=y), Move.SAME
    if change.above_g > 0:
        yield P_PRESSED / STRONGEST_PRESS_G, belief, Move.PRESSED
    rezeroed = P_REZEROED * normal(y, u)
    if rezeroed > NOTHING:
        yield rezeroed, belief.rezeroed(y), Move.REZEROED
    yield from _back_or_next(belief, change, plan)
    yield from _put_right(belief, change, plan)


def _put_right(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    """Somebody saw a wrong zero, pressed the key, and went on before the pan came to rest."""
    if abs(belief.zero_g) > -BELOW_ZERO_G:
        right = empty(0.0, belief.level_u_g) if belief.mode is Mode.EMPTY else belief.rezeroed(0.0)
        again = Change.of(right, change.rest)
        for density, after, move in _back_or_next(right, again, plan):
            yield P_PUT_RIGHT * density, after, move


def _back_or_next(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    """The build comes back, or the next container comes."""
    if belief.mode is Mode.EMPTY:
        yield from _placed(belief, change, plan, P_PLACED)
        return
    y, u = change.rest.level_g, change.rest.u_g
    back = belief._replace(mode=Mode.ON)
    returned = (P_RETURN if belief.ahead else P_RETURN_DONE) * _same(change.by_g, change.u_g)
    if returned > NOTHING:
        yield returned, back.at(y, u)._replace(clear=not belief.strange), Move.RETURNED
    yield P_UNKNOWN / WIDEST_G, back.unexplained(y), Move.UNKNOWN
    for density, after, _ in fed(back, change, plan):
        yield P_FED_OFF * density, after, Move.RETURNED
    if not belief.fresh:
        yield from _placed(belief, change, plan, P_GONE * _lacking(belief))


def _empty(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    y, u = change.rest.level_g, change.rest.u_g
    same = P_SAME * normal(change.above_g, math.hypot(ZERO_SPREAD_G, u))
    if same > NOTHING:
        yield same, empty(y, u), Move.SAME
    if change.above_g < BELOW_ZERO_G:
        yield P_LOST / WIDEST_G, empty(y, u), Move.SAME
    else:
        yield P_PRESSED / WIDEST_G, belief, Move.PRESSED
    rezeroed = P_REZEROED * normal(y, u)
    if rezeroed > NOTHING:
        yield rezeroed, empty(y, u), Move.REZEROED
    yield from _back_or_next(belief, change, plan)
    yield from _put_right(belief, change, plan)


def _placed(belief: Belief, change: Change, plan: Plan, chance: float) -> Iterator[Successor]:
    """A new container, alone or with its first food already in it."""
    steps = len(plan.steps)
    ended = None if belief.mode is Mode.EMPTY else belief.end()
    alone = chance * _container(change.above_g, change.rest.u_g, plan)
    if alone > NOTHING:
        yield alone, belief.started(change.rest, steps, ended), Move.PLACED
    food_g = change.above_g - plan.tare_g
    if food_g <= 0:
        return
    # The container was never weighed alone: its weight is the profile's.
    aim, u_base = plan.aims[0], math.hypot(plan.tare_spread_g, change.rest.u_g)
    density = chance * P_PLACED_FED * gesture.added(aim, 0.0, 0, food_g, u_base)
    if density > NOTHING:
        base_g = belief.zero_g + plan.tare_g
        started = belief.started(change.rest, steps, ended)._replace(
            base_g=base_g, base_u_g=u_base, start_g=base_g, start_u_g=u_base
        )
        yield density, started._replace(gestures=max(1, round(food_g / aim.scoop_g))), Move.PLACED


_KINDS: Final = {Mode.ON: _on_pan, Mode.OFF: _off_pan, Mode.EMPTY: _empty}


def _lacking(belief: Belief) -> float:
    """Share of builds that leave for good at this point, among those that leave."""
    return max(SKIPPED ** len(belief.ahead), ABANDONED)


def _container(weight_g: float, u_g: float, plan: Plan) -> float:
    known = normal(weight_g - plan.tare_g, math.hypot(plan.tare_spread_g, u_g))
    strange = flat(weight_g - 2.0, STRANGE_CONTAINER_G)
    return (1 - STRANGE_CONTAINER) * known + STRANGE_CONTAINER * strange


def _same(change_g: float, u_g: float) -> float:
    return normal(change_g, math.hypot(u_g, SAME_SPREAD_G))
