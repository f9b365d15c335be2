"""What food added or taken may mean under one belief: every move with its density.

Probabilities are of what cooks do, densities per gram; every number is a starting point from
simulated cooks.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from enum import Enum
from functools import lru_cache, partial
from typing import TYPE_CHECKING, Final, NamedTuple

from scaled.core import gesture
from scaled.core.belief import Belief
from scaled.core.handing_on import handed_on
from scaled.core.next_step import choices, in_order
from scaled.core.together import Chances, densest_together, together

if TYPE_CHECKING:
    from scaled.core.gesture import Aim
    from scaled.core.next_step import Choices
    from scaled.core.plan import Plan
    from scaled.core.rest import Rest


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

    __hash__ = object.__hash__  # each member is one object; Enum's own hash is slow


Successor = tuple[float, Belief, Move]
NOTHING: Final = 3e-11
"""Densities below this are hopeless beside "something unexplained" and left out."""
NEGLIGIBLE: Final = 1e-4
"""... and so are those this much lower than another's: three equal ones are dropped anyway."""
DIP: Final = 6.0
"""A dip is this many standard uncertainties deep,"""
DIP_SHARE: Final = 0.05
"""... and this share of what is added: landing food makes the pan swing."""


PINCHES_S: Final = 1.0
"""Between two pinches of something strewn the pan rests no longer than this."""
PINCH: Final = 0.03
"""Standard uncertainty of what was strewn by then, as a share of all,"""
PINCH_G: Final = 0.6
"""... and no more than this: who takes more at a time does not strew."""


SLOW_SCOOP: Final = 0.06
"""One gesture of a tool seldom takes as long as something strewn;"""
SCOOP: Final = (0.5, 1.5)
"""... what is about so many of its gestures is one of them."""
QUICK_PINCH: Final = 0.65
"""Share of what is strewn that comes as quickly as a scoop."""


class Change(NamedTuple):
    """A new rest, seen from a belief.

    Attributes:
        rest: The rest.
        by_g: How much heavier than the build's level.
        u_g: Standard uncertainty of that.
        above_g: How much heavier than the empty pan.
        again_g: How far it is from the rest before it, which meant nothing to the belief; None:
            that one meant something.
        least: Densities below this are hopeless.
    """

    rest: Rest
    by_g: float
    u_g: float
    above_g: float
    again_g: float | None = None
    least: float = NOTHING

    @property
    def dipped(self) -> bool:
        """The display fell from the build's level before it rose: something let go of the pan."""
        fell_g = self.rest.level_g - self.by_g - self.rest.trough_g
        return self.by_g > 0 and fell_g > DIP * self.u_g and fell_g > DIP_SHARE * self.by_g

    @staticmethod
    def of(
        belief: Belief, rest: Rest, last_g: float | None = None, least: float = NOTHING
    ) -> Change:
        """The change from a belief to a rest; the one before was at ``last_g``."""
        u = math.hypot(rest.u_g, belief.level_u_g)
        y = rest.level_g
        again_g = None if last_g is None or belief.level_g == last_g else y - last_g
        return _change((rest, y - belief.level_g, u, y - belief.zero_g, again_g, least))

    def amid(self, chance: float) -> Change:
        """The same where it comes about only with something of this probability."""
        return _change((*self[:-1], self.least / chance))

    def beside(self, density: float) -> Change:
        """The same where something else has this density."""
        least = NEGLIGIBLE * density
        return _change((*self[:-1], least)) if least > self.least else self


_change = partial(tuple.__new__, Change)  # its fields are not counted: there are many of them


def fed(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    """Food was added or taken."""
    aim, net_g, made = plan.aim(belief.group), belief.net_g, belief.gestures
    now = gesture.intent(aim, net_g, made)
    y, u = change.rest.level_g, change.rest.u_g
    if change.by_g <= 0:
        taken = now.back * gesture.taken(aim, net_g, -change.by_g, change.u_g)
        if taken > NOTHING:
            yield taken, belief.at(y, u), Move.TAKEN
        return
    in_turn = 1.0 if made else in_order(belief)
    passed, to_come = belief.parted
    chance, steps = now.more, choices(passed, to_come, made > 0)
    if belief.carried and made:
        since = handed_on(belief.group[-1], steps, now.done, plan)
        chance, steps = chance * since.more, since.steps
    more = chance * gesture.added(aim, net_g, made, change.by_g, change.u_g)
    if len(belief.group) == 1:
        more *= _in_time(aim, change)
    if more > change.least:
        gestures = max(made + 1, round((y - belief.start_g) / aim.scoop_g))
        yield in_turn * more, belief.fed(y, u, gestures), Move.ADDED
    moves_on = now.done if made else 1 - in_turn
    yield from _begun(belief, change, plan, steps, moves_on)
    if to_come and len(belief.group) == 1:
        chances = Chances(chance, moves_on * steps[len(passed)][1])
        yield from _together(belief, to_come, change, plan, chances)


def _in_time(aim: Aim, change: Change) -> float:
    """How well the time that the food took to come suits a gesture of a step.

    What the rest before meant nothing to took some other time.
    """
    slow = change.rest.slow
    if slow is None or slow == aim.loose or change.again_g is not None:
        return 1.0
    if aim.loose:
        return QUICK_PINCH
    least, most = SCOOP
    return SLOW_SCOOP if least < change.by_g / aim.scoop_g < most else 1.0


def densest(belief: Belief, by_g: float, u_g: float, plan: Plan) -> float:
    """What no density of :func:`fed` exceeds when so much was added: a quick look beforehand."""
    net_g = belief.net_g
    if net_g < 0:
        return math.inf  # there is no telling how much the step lacks
    most = gesture.densest(plan.aim(belief.group), net_g, by_g, u_g)
    return max(most, _densest_anew(by_g, u_g, plan.aims))


@lru_cache(gesture.ASKED_AGAIN)
def _densest_anew(by_g: float, u_g: float, aims: tuple[Aim, ...]) -> float:
    begun = max(gesture.densest(aim, 0.0, by_g, u_g) for aim in aims)
    return max(begun, densest_together(aims, by_g, u_g))


def _begun(
    belief: Belief, change: Change, plan: Plan, steps: Choices, chance: float
) -> Iterator[Successor]:
    """The open step is done, or still empty and passed over: another one begins."""
    y, u = change.rest.level_g, change.rest.u_g
    for step, share in steps:
        aim = plan.aims[step]
        if chance * share * aim.densest <= change.least:
            continue
        density = chance * (share * gesture.added(aim, 0.0, 0, change.by_g, change.u_g))
        density *= _in_time(aim, change)
        if density > change.least:
            scoops = max(1, round(change.by_g / aim.scoop_g))
            left = _amid_pinches(belief, aim, change.rest, plan)
            yield density, left.begun((step,), y, u, scoops), Move.BEGUN


def _amid_pinches(belief: Belief, aim: Aim, rest: Rest, plan: Plan) -> Belief:
    """How the open step is left before another that a cook aims at.

    A rest soon over beside something strewn may have been a pause between two pinches of it.
    """
    if rest.pause_s >= PINCHES_S:
        return belief
    strewn = [one.usual_g for one in (plan.aim(belief.group), aim) if one.loose]
    if not strewn:
        return belief
    u_g = math.hypot(belief.level_u_g, min(PINCH * max(strewn), PINCH_G))
    return belief.fed(belief.level_g, u_g, belief.gestures)


def _together(
    belief: Belief, to_come: tuple[int, ...], change: Change, plan: Plan, chances: Chances
) -> Iterator[Successor]:
    """Several ingredients in one change."""
    y, u = change.rest.level_g, change.rest.u_g
    for density, group, begun in together(belief, to_come, change, plan, chances):
        if density <= change.least:
            continue
        if begun:
            scoops = max(len(group), round((y - belief.start_g) / plan.aims[group[0]].scoop_g))
            after = belief.joined(group, y, u, scoops)
        else:
            after = belief.begun(group, y, u, len(group))
        yield density, after, Move.BEGUN
