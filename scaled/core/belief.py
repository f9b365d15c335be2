"""One hypothesis about what stands on the pan, and what a new rest can turn it into.

A belief is a small value. :func:`successors` lists everything a change of level may mean under
it, each with its density; exact bookkeeping over many beliefs is :mod:`scaled.core.track`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from enum import Enum
from typing import TYPE_CHECKING, Final, NamedTuple

from scaled.core import gesture
from scaled.core.gesture import flat, normal

if TYPE_CHECKING:
    from scaled.core.plan import Plan
    from scaled.core.settle import Rest


class Mode(Enum):
    """Where the build is."""

    EMPTY = "empty"
    ON = "on"
    OFF = "off"


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


class Share(NamedTuple):
    """A closed step, or two that were poured together.

    ``clear`` is False when something unexplained happened while it was open.
    """

    group: tuple[int, ...]
    net_g: float
    u_g: float
    clear: bool


class Ended(NamedTuple):
    """A build that left the pan: its shares, its food in all, whether all of it is explained."""

    shares: tuple[Share, ...]
    total_g: float
    total_u_g: float


class Belief(NamedTuple):
    """What stands on the pan, if this hypothesis is true.

    Levels are weights shown by the scale, g. ``level_g`` is that of the build (on the pan, or
    before it was lifted); ``start_g`` that at which the open step began; ``base_g`` that of the
    container alone; ``zero_g`` that of the empty pan. ``group`` is the open step, or two poured
    together, as indices into the plan. ``ended`` is the build before, until it is reported.
    """

    mode: Mode
    zero_g: float
    level_g: float
    level_u_g: float
    base_g: float = 0.0
    base_u_g: float = 0.0
    group: tuple[int, ...] = ()
    start_g: float = 0.0
    start_u_g: float = 0.0
    gestures: int = 0
    clear: bool = True
    closed: tuple[Share, ...] = ()
    build: int = 0
    ended: Ended | None = None

    @property
    def net_g(self) -> float:
        """Weight in the open step so far."""
        return self.level_g - self.start_g

    @property
    def net_u_g(self) -> float:
        """Standard uncertainty of :attr:`net_g`: a difference of two levels."""
        return math.hypot(self.level_u_g, self.start_u_g)

    def shares(self) -> tuple[Share, ...]:
        """All closed steps, the open one closed with them if anything is in it."""
        if not self.group or not self.gestures:
            return self.closed
        return (*self.closed, Share(self.group, self.net_g, self.net_u_g, self.clear))

    def end(self) -> Ended:
        """The build as it is when it leaves."""
        total_u = math.hypot(self.level_u_g, self.base_u_g)
        return Ended(self.shares(), self.level_g - self.base_g, total_u)

    def remaining(self, steps: int) -> tuple[int, ...]:
        """Steps neither closed nor open, in profile order."""
        taken = {i for share in self.closed for i in share.group}.union(self.group)
        return tuple(i for i in range(steps) if i not in taken)


Successor = tuple[float, Belief, Move]

P_SAME: Final = 0.20
"""A bump, a tool leaning in, a rest cut in two: the pan comes back to where it was."""
P_PRESSED: Final = 0.010
P_UNKNOWN: Final = 0.002
P_REZEROED: Final = 0.002
ABRUPT_KEY: Final = 0.9
"""Share of key presses whose jump is seen without a reading between."""
ABRUPT_LOAD: Final = 0.03
"""Share of moved loads that look so: only fast scales that send few readings."""
ABRUPT_FROM: Final = 6.0
"""Smaller changes, in standard uncertainties, look abrupt whatever made them."""
P_LIFT_EARLY: Final = 0.03
P_LIFT_DONE: Final = 0.60
HASTY: Final = 0.5
"""Food was added and the bowl lifted before the pan came to rest, if the display rose so far."""
NOT_HASTY: Final = 0.002
"""... and if it did not."""
HASTY_SHARE: Final = 0.3
"""Rise that may be food, as a share of the open step's gesture."""
P_SWAPPED: Final = 0.003
"""A new container so soon that the empty pan was never seen at rest."""
P_FED_OFF: Final = 0.06
"""Food added while the bowl was off, or so soon after that its return was never seen."""
P_IN_ORDER: Final = 0.95
NEARER: Final = 0.4
"""Who leaves the order takes the next step but one; each further one is this much rarer."""
P_TOGETHER: Final = 0.03
"""Two ingredients without a rest between them."""
STRONGEST_PRESS_G: Final = 2000.0
WIDEST_G: Final = 6000.0
ZERO_SPREAD_G: Final = 0.5
"""An empty pan comes back to zero within this (crumbs, creep)."""
SAME_SPREAD_G: Final = 0.15
STRANGE_CONTAINER: Final = 0.03
"""Share of containers that are not the profile's, up to ``STRANGE_CONTAINER_G``."""
STRANGE_CONTAINER_G: Final = 300.0


def first(rest: Rest, plan: Plan) -> list[tuple[float, Belief]]:
    """What the very first rest may be: an empty pan, or the container already on it."""
    y, u = rest.level_g, rest.u_g
    empty = Belief(Mode.EMPTY, y, y, u)
    standing = _started(Belief(Mode.EMPTY, 0.0, 0.0, u), rest, None)
    tared = standing._replace(zero_g=y - plan.tare_g)
    zero = math.hypot(2 * ZERO_SPREAD_G, u)
    return [
        (0.70 * normal(y, zero) + 0.05 * flat(abs(y), WIDEST_G), empty),
        (0.22 * _tare_density(y, u, plan), standing),
        (0.03 * normal(y, zero), tared),
    ]


def successors(belief: Belief, rest: Rest, plan: Plan) -> Iterator[Successor]:
    """Everything the new rest may mean; densities per gram, some may be zero."""
    kinds = {Mode.ON: _on_pan, Mode.OFF: _off_pan, Mode.EMPTY: _empty}
    key, load = (ABRUPT_KEY, ABRUPT_LOAD) if rest.abrupt else (1 - ABRUPT_KEY, 1 - ABRUPT_LOAD)
    for density, after, move in kinds[belief.mode](belief, rest, plan):
        small = abs(rest.level_g - belief.level_g) < ABRUPT_FROM * rest.u_g
        yield density * (1.0 if small else key if move is Move.REZEROED else load), after, move


def _on_pan(belief: Belief, rest: Rest, plan: Plan) -> Iterator[Successor]:
    y, u = rest.level_g, rest.u_g
    change = y - belief.level_g
    u_change = math.hypot(u, belief.level_u_g)
    moved = belief._replace(level_g=y, level_u_g=u)
    yield P_SAME * _same_density(change, u_change), moved, Move.SAME
    yield P_PRESSED * flat(change, STRONGEST_PRESS_G), belief, Move.PRESSED
    yield P_UNKNOWN / WIDEST_G, _shifted(belief, rest)._replace(clear=False), Move.UNKNOWN
    yield P_REZEROED * normal(y, u), _shifted(belief, rest), Move.REZEROED
    yield from _leaving(belief, rest, plan)
    odds = gesture.same_pause_odds(rest.pause_s)
    for density, after, move in _fed(belief, moved, change, u_change, plan):
        yield density if move is Move.BEGUN else density * odds, after, move


def _leaving(belief: Belief, rest: Rest, plan: Plan) -> Iterator[Successor]:
    y, u = rest.level_g, rest.u_g
    aim = plan.aim(belief.group)
    now = gesture.intent(aim, belief.net_g, belief.gestures)
    ahead = belief.remaining(len(plan.steps))
    chance = P_LIFT_EARLY + (0.0 if ahead else P_LIFT_DONE * now.done)
    shift = y - belief.zero_g
    lift = normal(shift, math.hypot(ZERO_SPREAD_G, u))
    added_g = rest.peak_g - belief.level_g
    hasty = HASTY if added_g > max(HASTY_SHARE * aim.scoop_g, 4 * u) else NOT_HASTY
    yield lift * chance * (1 - hasty), _lifted(belief, rest), Move.LIFTED
    unseen = belief._replace(level_g=rest.peak_g, gestures=belief.gestures + 1, clear=False)
    if not ahead:
        more = lift * P_LIFT_DONE * (now.more + now.back)
        yield hasty * more, _lifted(unseen, rest), Move.LIFTED
    elif len(ahead) == 1 and belief.gestures:
        opened = _opened(belief, unseen, ahead)._replace(gestures=1, clear=False)
        yield hasty * lift * P_LIFT_DONE * now.done, _lifted(opened, rest), Move.LIFTED
    if belief.ended is None and belief.gestures:
        placed = _started(belief, rest, belief.end())
        yield P_SWAPPED * _tare_density(shift, u, plan), placed, Move.PLACED


def _fed(
    belief: Belief, moved: Belief, change: float, u: float, plan: Plan
) -> Iterator[Successor]:
    """Food was added or taken."""
    yield from _in_step(belief, moved, change, u, plan)
    yield from _new_step(belief, moved, change, u, plan)


def _in_step(
    belief: Belief, moved: Belief, change: float, u: float, plan: Plan
) -> Iterator[Successor]:
    aim = plan.aim(belief.group)
    now = gesture.intent(aim, belief.net_g, belief.gestures)
    if change > 0:
        size = gesture.added(aim, belief.net_g, belief.gestures, change, u)
        first_choice = P_IN_ORDER if belief.gestures == 0 else 1.0
        gestures = max(belief.gestures + 1, round(moved.net_g / aim.scoop_g))
        yield first_choice * now.more * size, moved._replace(gestures=gestures), Move.ADDED
    elif belief.gestures:
        size = gesture.taken(aim, belief.net_g, -change, u)
        yield now.back * size, moved, Move.TAKEN


def _new_step(
    belief: Belief, moved: Belief, change: float, u: float, plan: Plan
) -> Iterator[Successor]:
    if change <= 0:
        return
    remaining = belief.remaining(len(plan.steps))
    if belief.gestures == 0:
        chance, ahead = 1 - P_IN_ORDER, remaining
        yield from _together(belief, moved, (belief.group[0], *remaining[:1]), change, u, plan)
    else:
        net, gestures = belief.net_g, belief.gestures
        chance = gesture.intent(plan.aim(belief.group), net, gestures).done
        ahead = remaining
        yield from _together(belief, moved, (belief.group[-1], *remaining[:1]), change, u, plan)
    for place, step in enumerate(ahead):
        share = chance * _order_share(place, begun=belief.gestures > 0)
        opened = _opened(belief, moved, (step,))
        size = gesture.added(plan.aims[step], 0.0, 0, change, u)
        scoops = max(1, round(change / plan.aims[step].scoop_g))
        yield share * size, opened._replace(gestures=scoops), Move.BEGUN
    if belief.gestures and len(ahead) > 1:
        opened = _opened(belief, moved, ())
        empty = opened._replace(group=(ahead[0],))
        for density, pair, move in _together(empty, opened, ahead[:2], change, u, plan):
            yield chance * density, pair, move


def _order_share(place: int, *, begun: bool) -> float:
    """Probability of choosing the step at ``place`` among those ahead."""
    if begun and place == 0:
        return P_IN_ORDER
    further = place - 1 if begun else place
    others = 1 - P_IN_ORDER if begun else 1.0
    return others * (1 - NEARER) * NEARER**further


def _together(  # noqa: PLR0913, PLR0917 -- what a change is judged by
    belief: Belief,
    moved: Belief,
    pair: tuple[int, ...],
    change: float,
    u: float,
    plan: Plan,
) -> Iterator[Successor]:
    """The open step's missing part and the next step's first or whole, in one change."""
    if len(pair) != 2 or len(belief.group) > 1:
        return
    here, there = plan.aims[pair[0]], plan.aims[pair[1]]
    missing = max(here.band.target_g - (belief.net_g if belief.gestures else 0.0), 0.0)
    if missing < 0.2 * here.scoop_g:
        return
    density = 0.0
    sizes = {there.band.target_g, there.scoop_g}
    for size in sizes:
        spread = math.hypot(gesture.GESTURE_SPREAD * missing, gesture.GESTURE_SPREAD * size, u)
        density += normal(change - missing - size, spread + gesture.FINE_G) / len(sizes)
    scoops = max(2, round((moved.level_g - belief.start_g) / here.scoop_g))
    merged = moved._replace(group=pair, start_g=belief.start_g, start_u_g=belief.start_u_g)
    yield P_TOGETHER * density, merged._replace(gestures=scoops), Move.BEGUN


def _off_pan(belief: Belief, rest: Rest, plan: Plan) -> Iterator[Successor]:
    y, u = rest.level_g, rest.u_g
    above = y - belief.zero_g
    yield P_SAME * _same_density(above, u), belief._replace(zero_g=y), Move.SAME
    yield P_PRESSED * flat(above, STRONGEST_PRESS_G), belief, Move.PRESSED
    tared = _moved_by(belief, y - belief.zero_g)
    yield P_REZEROED * normal(y, u), tared, Move.REZEROED
    back = belief._replace(mode=Mode.ON)
    last = not belief.remaining(len(plan.steps))
    returns = 0.15 if last else 0.65
    change = y - belief.level_g
    u_change = math.hypot(u, belief.level_u_g)
    settled = back._replace(level_g=y, level_u_g=u)
    yield returns * _same_density(change, u_change), settled, Move.RETURNED
    yield P_UNKNOWN / WIDEST_G, _shifted(back, rest)._replace(clear=False), Move.UNKNOWN
    for density, after, _ in _fed(back, settled, change, u_change, plan):
        yield P_FED_OFF * density, after, Move.RETURNED
    if belief.ended is None:
        placed = _started(belief, rest, belief.end())
        yield (0.95 - returns) * _tare_density(above, u, plan), placed, Move.PLACED
        yield from _placed_with_food(belief, rest, plan, belief.end())


def _empty(belief: Belief, rest: Rest, plan: Plan) -> Iterator[Successor]:
    y, u = rest.level_g, rest.u_g
    above = y - belief.zero_g
    yield (
        P_SAME * normal(above, math.hypot(ZERO_SPREAD_G, u)),
        belief._replace(zero_g=y, level_g=y),
        Move.SAME,
    )
    yield P_PRESSED / WIDEST_G, belief, Move.PRESSED
    yield P_REZEROED * normal(y, u), belief._replace(zero_g=y, level_g=y), Move.REZEROED
    yield 0.8 * _tare_density(above, u, plan), _started(belief, rest, None), Move.PLACED
    yield from _placed_with_food(belief, rest, plan, None)


def _placed_with_food(
    belief: Belief, rest: Rest, plan: Plan, ended: Ended | None
) -> Iterator[Successor]:
    """A container and the first ingredient with no rest between: its weight is the profile's."""
    u_base = math.hypot(plan.tare_spread_g, rest.u_g)
    base_g = belief.zero_g + plan.tare_g
    food_g = rest.level_g - base_g
    if food_g <= 0:
        return
    aim = plan.aims[0]
    started = _started(belief, rest, ended)._replace(
        base_g=base_g, base_u_g=u_base, start_g=base_g, start_u_g=u_base
    )
    filled = started._replace(gestures=max(1, round(food_g / aim.scoop_g)))
    yield P_TOGETHER * gesture.added(aim, 0.0, 0, food_g, u_base), filled, Move.PLACED


def _tare_density(weight_g: float, u_g: float, plan: Plan) -> float:
    known = normal(weight_g - plan.tare_g, math.hypot(plan.tare_spread_g, u_g))
    return (1 - STRANGE_CONTAINER) * known + STRANGE_CONTAINER * flat(
        weight_g - 2.0, STRANGE_CONTAINER_G
    )


def _same_density(change_g: float, u_g: float) -> float:
    return normal(change_g, math.hypot(u_g, SAME_SPREAD_G))


def _started(belief: Belief, rest: Rest, ended: Ended | None) -> Belief:
    y, u = rest.level_g, rest.u_g
    return Belief(
        Mode.ON, belief.zero_g, y, u, y, u, (0,), y, u, build=belief.build + 1, ended=ended
    )


def _opened(belief: Belief, moved: Belief, group: tuple[int, ...]) -> Belief:
    """The open step closed if anything is in it, and another one opened."""
    return moved._replace(
        closed=belief.shares(),
        group=group,
        start_g=belief.level_g,
        start_u_g=belief.level_u_g,
        gestures=0,
        clear=True,
    )


def closed_by_hand(belief: Belief, steps: int) -> Belief:
    """The open step closed because a person said so, with nothing in it if that is so."""
    closed = belief.shares()
    if not belief.gestures:
        closed = (*closed, Share(belief.group, 0.0, belief.net_u_g, belief.clear))
    ahead = belief.remaining(steps)
    after = _opened(belief, belief, ahead[:1])
    return after._replace(closed=closed)


def emptied(belief: Belief) -> Belief:
    """The build reported and forgotten; whatever still stands on the pan means nothing."""
    return Belief(Mode.EMPTY, belief.zero_g, belief.zero_g, belief.level_u_g, build=belief.build)


def reopened(belief: Belief, level_g: float, level_u_g: float) -> Belief:
    """The open step of an earlier moment, with all that came since counted into it."""
    return belief._replace(
        level_g=level_g, level_u_g=level_u_g, gestures=belief.gestures + 1, ended=None
    )


def _lifted(belief: Belief, rest: Rest) -> Belief:
    """Off the pan; all levels follow the newly seen zero."""
    return _moved_by(belief, rest.level_g - belief.zero_g)._replace(mode=Mode.OFF)


def _shifted(belief: Belief, rest: Rest) -> Belief:
    """The display jumped, the load did not."""
    return _moved_by(belief, rest.level_g - belief.level_g)


def _moved_by(belief: Belief, shift_g: float) -> Belief:
    return belief._replace(
        zero_g=belief.zero_g + shift_g,
        level_g=belief.level_g + shift_g,
        base_g=belief.base_g + shift_g,
        start_g=belief.start_g + shift_g,
    )
