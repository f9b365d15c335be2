"""What a new rest may mean under one belief: every move with its density.

Probabilities are of what cooks do, densities per gram; every number is a starting point from
simulated cooks. Moves of no weight are left out.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING, Final

from scaled.core import gesture
from scaled.core.belief import Belief, Mode, empty
from scaled.core.gesture import flat, normal

if TYPE_CHECKING:
    from scaled.core.plan import Plan
    from scaled.core.settle import Rest


class Move(Enum):
    """What a change of level meant."""

    SAME = "same"
    ADDED = "added"
    TAKEN = "taken"
    BEGUN = "begun"
    LIFTED = "lifted"
    RETURNED = "returned"
    PLACED = "placed"
    PRESSED = "pressed"
    REZEROED = "rezeroed"
    UNKNOWN = "unknown"


Successor = tuple[float, Belief, Move]

NOTHING: Final = 3e-11
"""Densities below this are hopeless beside "something unexplained" and left out."""
P_SAME: Final = 0.20
"""A bump, a tool leaning in, a rest cut in two: the pan comes back to where it was."""
SAME_SPREAD_G: Final = 0.15
P_PRESSED: Final = 0.010
STRONGEST_PRESS_G: Final = 2000.0
P_UNKNOWN: Final = 0.002
WIDEST_G: Final = 6000.0
P_REZEROED: Final = 0.002
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
LOOSE: Final = 0.02
"""... but the zero may be known badly, after keys were pressed or strange things weighed."""
LOOSE_ZERO_G: Final = 15.0
HASTY: Final = 0.5
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
"""... for each step that it lacks."""
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
P_IN_ORDER: Final = 0.95
NEARER: Final = 0.4
"""Who leaves the order takes the next step but one; each further one is this much rarer."""
P_TOGETHER: Final = 0.03
"""Two ingredients without a rest between them."""
LEAST_MISSING: Final = 0.2
"""Share of a gesture that must be missing for two ingredients to have come together."""


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


@dataclass(frozen=True, slots=True)
class Change:
    """A new rest, seen from a belief.

    Attributes:
        rest: The rest.
        by_g: How much heavier than the build's level.
        u_g: Standard uncertainty of that.
        above_g: How much heavier than the empty pan.
    """

    rest: Rest
    by_g: float
    u_g: float
    above_g: float

    @classmethod
    def of(cls, belief: Belief, rest: Rest) -> Change:
        """The change from a belief to a rest."""
        u = math.hypot(rest.u_g, belief.level_u_g)
        y = rest.level_g
        return cls(rest, y - belief.level_g, u, y - belief.zero_g)


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
    yield from _leaving(belief, change, plan)
    odds = gesture.same_pause_odds(change.rest.pause_s)
    for density, after, move in _fed(belief, change, plan):
        yield density if move is Move.BEGUN else density * odds, after, move


def _leaving(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    u = change.rest.u_g
    lift = (1 - LOOSE) * normal(change.above_g, math.hypot(ZERO_SPREAD_G, u))
    lift += LOOSE * normal(change.above_g, LOOSE_ZERO_G)
    if lift > NOTHING:
        yield from _lifting(belief, change, plan, lift)
    if not belief.fresh and belief.gestures:
        swapped = P_SWAPPED * _container(change.above_g, u, plan)
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
    # What it weighed in the end is not known; the peak is only a guess.
    guess_g = max(change.rest.peak_g, belief.level_g)
    if not ahead:
        unseen = belief._replace(level_g=guess_g, gestures=belief.gestures + 1, clear=False)
        after = unseen.lifted(y)
        yield lift * hasty * P_LIFT_DONE * (now.more + now.back), after, Move.LIFTED
    elif belief.gestures:
        after = belief.opened(ahead)._replace(level_g=guess_g, gestures=1, clear=False)
        yield lift * hasty * P_LIFT_DONE * now.done, after.lifted(y), Move.LIFTED


def _fed(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    """Food was added or taken."""
    aim = plan.aim(belief.group)
    now = gesture.intent(aim, belief.net_g, belief.gestures)
    y, u = change.rest.level_g, change.rest.u_g
    if change.by_g <= 0:
        taken = now.back * gesture.taken(aim, belief.net_g, -change.by_g, change.u_g)
        if taken > NOTHING:
            yield taken, belief.at(y, u), Move.TAKEN
        return
    in_turn = 1.0 if belief.gestures else P_IN_ORDER
    more = gesture.added(aim, belief.net_g, belief.gestures, change.by_g, change.u_g)
    if more * now.more > NOTHING:
        gestures = max(belief.gestures + 1, round((y - belief.start_g) / aim.scoop_g))
        yield in_turn * now.more * more, belief.at(y, u)._replace(gestures=gestures), Move.ADDED
    yield from _begun(belief, change, plan, now.done)
    yield from _together(belief, change, plan, now.done)


def _begun(belief: Belief, change: Change, plan: Plan, done: float) -> Iterator[Successor]:
    """The open step is done, or still empty and passed over: another one begins."""
    begun = belief.gestures > 0
    share = done if begun else 1 - P_IN_ORDER
    for place, step in enumerate(belief.ahead):
        aim = plan.aims[step]
        density = share * _choice(place, begun=begun)
        density *= gesture.added(aim, 0.0, 0, change.by_g, change.u_g)
        if density > NOTHING:
            scoops = max(1, round(change.by_g / aim.scoop_g))
            after = belief.opened((step,)).at(change.rest.level_g, change.rest.u_g)
            yield density, after._replace(gestures=scoops), Move.BEGUN


def _choice(place: int, *, begun: bool) -> float:
    """Probability of choosing the step at ``place`` among those ahead."""
    if begun and place == 0:
        return P_IN_ORDER
    further = place - 1 if begun else place
    others = 1 - P_IN_ORDER if begun else 1.0
    return others * (1 - NEARER) * NEARER**further


def _together(belief: Belief, change: Change, plan: Plan, done: float) -> Iterator[Successor]:
    """Two ingredients in one change: the open step's rest and the next, or the next two."""
    if len(belief.group) > 1 or not belief.ahead:
        return
    y, u = change.rest.level_g, change.rest.u_g
    pair = (belief.group[0], belief.ahead[0])
    missing = plan.aims[pair[0]].band.target_g - (belief.net_g if belief.gestures else 0.0)
    density = P_TOGETHER * _pair_density(missing, pair, change, plan)
    if density > NOTHING:
        scoops = max(2, round((y - belief.start_g) / plan.aims[pair[0]].scoop_g))
        after = belief._replace(group=pair, ahead=belief.ahead[1:], gestures=scoops)
        yield density, after.at(y, u), Move.BEGUN
    if belief.gestures and len(belief.ahead) > 1:
        pair = (belief.ahead[0], belief.ahead[1])
        missing = plan.aims[pair[0]].band.target_g
        density = done * P_TOGETHER * _pair_density(missing, pair, change, plan)
        if density > NOTHING:
            after = belief.opened(pair).at(y, u)._replace(gestures=2)
            yield density, after, Move.BEGUN


def _pair_density(missing: float, pair: tuple[int, ...], change: Change, plan: Plan) -> float:
    here, there = plan.aims[pair[0]], plan.aims[pair[1]]
    if missing < LEAST_MISSING * here.scoop_g:
        return 0.0
    density = 0.0
    sizes = {there.band.target_g, there.scoop_g}
    for size in sizes:
        spread = gesture.GESTURE_SPREAD * math.hypot(missing, size) + gesture.FINE_G
        density += normal(change.by_g - missing - size, math.hypot(spread, change.u_g))
    return density / len(sizes)


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
    back = belief._replace(mode=Mode.ON)
    returned = (P_RETURN if belief.ahead else P_RETURN_DONE) * _same(change.by_g, change.u_g)
    if returned > NOTHING:
        yield returned, back.at(y, u), Move.RETURNED
    yield P_UNKNOWN / WIDEST_G, back.unexplained(y), Move.UNKNOWN
    for density, after, _ in _fed(back, change, plan):
        yield P_FED_OFF * density, after, Move.RETURNED
    if not belief.fresh:
        gone = P_GONE * SKIPPED ** len(belief.ahead)
        yield from _placed(belief, change, plan, gone)


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
    yield from _placed(belief, change, plan, P_PLACED)


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
    fed = chance * P_PLACED_FED * gesture.added(aim, 0.0, 0, food_g, u_base)
    if fed > NOTHING:
        base_g = belief.zero_g + plan.tare_g
        started = belief.started(change.rest, steps, ended)._replace(
            base_g=base_g, base_u_g=u_base, start_g=base_g, start_u_g=u_base
        )
        yield fed, started._replace(gestures=max(1, round(food_g / aim.scoop_g))), Move.PLACED


_KINDS: Final = {Mode.ON: _on_pan, Mode.OFF: _off_pan, Mode.EMPTY: _empty}


def _container(weight_g: float, u_g: float, plan: Plan) -> float:
    known = normal(weight_g - plan.tare_g, math.hypot(plan.tare_spread_g, u_g))
    strange = flat(weight_g - 2.0, STRANGE_CONTAINER_G)
    return (1 - STRANGE_CONTAINER) * known + STRANGE_CONTAINER * strange


def _same(change_g: float, u_g: float) -> float:
    return normal(change_g, math.hypot(u_g, SAME_SPREAD_G))
