"""Several ingredients in one change: nobody saw the pan at rest between them.

Only their sum is known, so what this yields is told as joint. Densities are per gram; every
number is a starting point from simulated cooks.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache
from typing import TYPE_CHECKING, Final, NamedTuple

from scaled.core import gesture
from scaled.core.gesture import Aim, normal

if TYPE_CHECKING:
    from scaled.core.belief import Belief
    from scaled.core.food import Change
    from scaled.core.plan import Plan

P_TOGETHER: Final = 0.04
"""One more ingredient without a rest before it, where the one before wanted another gesture."""
P_LEFT_OUT: Final = 0.03
"""... and it is not the next one, but the one after that."""

Group = tuple[int, ...]


class Chances(NamedTuple):
    """Probabilities of what comes next.

    Attributes:
        more: The open step gets more.
        anew: It gets nothing more, and the first of those to come is next.
    """

    more: float
    anew: float


def together(
    belief: Belief, to_come: Group, change: Change, plan: Plan, chances: Chances
) -> Iterator[tuple[float, Group, bool]]:
    """The open step's rest and others, or others alone once it is done or passed over.

    Args:
        belief: Before the change; one step is open.
        to_come: Steps that come after all that are closed or open.
        change: How much heavier the build became; sums that can never be dense enough for it are
            left out.
        plan: What the build should be.
        chances: What comes next.

    Yields:
        Density, the steps, and whether the open one is among them.
    """
    aim, by_g, u_g, least = plan.aim(belief.group), change.by_g, change.u_g, change.least
    more, anew = chances
    missing_g = aim.usual_g - belief.net_g if belief.gestures else aim.usual_g
    if missing_g > 0:
        for poured in _poured(belief.group, to_come, plan.aims):
            if more * poured.most > least:
                yield more * poured.density(missing_g, by_g, u_g), poured.group, True
    if to_come:
        for density, group in _anew(to_come, by_g, u_g, plan.aims):
            if anew * density > least:
                yield anew * density, group, False


@lru_cache(gesture.ASKED_AGAIN)
def _anew(
    to_come: Group, by_g: float, u_g: float, aims: tuple[Aim, ...]
) -> tuple[tuple[float, Group], ...]:
    """Density of all of the next step and others, whatever is open."""
    whole_g = aims[to_come[0]].usual_g
    sums = _poured(to_come[:1], to_come[1:], aims)
    return tuple([(poured.density(whole_g, by_g, u_g), poured.group) for poured in sums])


def densest_together(aims: tuple[Aim, ...], by_g: float, u_g: float) -> float:
    """What no density of :func:`together` exceeds when so much was added to a build.

    Args:
        aims: Of all steps; none weighs less than nothing.
        by_g: How much heavier it became, above 0 g.
        u_g: Standard uncertainty of that.
    """
    two, three = (_sum_of(aims, steps).densest(by_g, u_g) for steps in (2, 3))
    return P_TOGETHER * max(two, P_TOGETHER * three)


class _Sum(NamedTuple):
    """Any of the sums of so many steps.

    Attributes:
        heaviest_g: No more is aimed at.
        widest_g: Largest standard deviation.
        share: Of a sum, that it spreads by at least.
    """

    heaviest_g: float
    widest_g: float
    share: float

    def densest(self, by_g: float, u_g: float) -> float:
        """What no density of such a sum exceeds."""
        over_g, widest_g = by_g - self.heaviest_g, math.hypot(self.widest_g, u_g)
        if over_g > widest_g:
            return normal(over_g, widest_g)
        spread_g = math.hypot(self.share * by_g + gesture.FINE_G, u_g)
        # It is densest at a sum a little smaller, which spreads a little less.
        smaller = (1 + math.sqrt(1 + 4 * self.share * self.share)) / 2
        return smaller * normal(0.0, spread_g)


@lru_cache
def _sum_of(aims: tuple[Aim, ...], steps: int) -> _Sum:
    spreads = (gesture.GESTURE_SPREAD, *(aim.spread for aim in aims))
    heaviest_g = math.fsum(sorted(aim.usual_g for aim in aims)[-steps:])
    widest_g = max(spreads) * heaviest_g + gesture.FINE_G
    return _Sum(heaviest_g, widest_g, min(spreads) / math.sqrt(steps))


class _Poured(NamedTuple):
    """What is missing in a step and all, or one gesture, of others, in one change.

    Attributes:
        group: The steps.
        chance: Probability that it is these, if any.
        others_g: All of the others.
        spread_g: Standard deviation of the sum when it is as exact as finished portions.
        exact: Probability that they are all of them and so exact.
        last: For each number of gestures that the last step may have got by then, its
            probability, how much less than all of that step it is, and what beside the missing
            the spread of a sum of gestures goes by.
        most: No density is higher, whatever the change.
    """

    group: Group
    chance: float
    others_g: float
    spread_g: float
    exact: float
    last: tuple[tuple[float, float, float], ...]
    most: float

    def density(self, missing_g: float, by_g: float, u_g: float) -> float:
        """Density of a change when so much is missing in the first step."""
        _, chance, others_g, whole_g, exact, last, _ = self
        over_g = by_g - missing_g - others_g
        density = exact * normal(over_g, math.hypot(whole_g, u_g))
        for share, less_g, sizes_g in last:
            spread_g = gesture.GESTURE_SPREAD * math.hypot(missing_g, sizes_g) + gesture.FINE_G
            density += share * normal(over_g + less_g, math.hypot(spread_g, u_g))
        return chance * density


@lru_cache(gesture.ASKED_AGAIN)
def _poured(first: Group, to_come: Group, aims: tuple[Aim, ...]) -> tuple[_Poured, ...]:
    """The first and each of what may be poured with it."""
    others = []
    if to_come:
        others.append((P_TOGETHER, to_come[:1]))
    if len(to_come) > 1:
        others.append((P_TOGETHER * P_LEFT_OUT, to_come[1:2]))
        others.append((P_TOGETHER * P_TOGETHER, to_come[:2]))
    return tuple(_of(chance, (*first, *more), aims) for chance, more in others)


def _of(chance: float, group: Group, aims: tuple[Aim, ...]) -> _Poured:
    poured = [aims[step] for step in group]
    wholes = [aim.usual_g for aim in poured]
    last, exact = [], 0.0
    for share, sum_g, _, whole in gesture.sums(poured[-1], poured[-1].scoops):
        exact = gesture.EXACT * share if whole else exact
        scooped = share - exact if whole else share
        last.append((scooped, wholes[-1] - sum_g, math.hypot(*wholes[1:-1], sum_g)))
    spread_g = max(aim.spread for aim in poured) * math.hypot(*wholes) + gesture.FINE_G
    narrowest_g = min(spread_g, *(gesture.GESTURE_SPREAD * g + gesture.FINE_G for *_, g in last))
    return _Poured(
        group=group,
        chance=chance,
        others_g=math.fsum(wholes[1:]),
        spread_g=spread_g,
        exact=exact,
        last=tuple(last),
        most=chance * normal(0.0, narrowest_g),
    )
