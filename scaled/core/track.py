"""Keeps several hypotheses about what is on the pan, with exact bookkeeping of probability.

Each new rest turns every belief into all it may mean; equal beliefs are merged, the rest are
weighed by their densities, normalised, and the hopeless dropped. What is told outside are
marginals: the probability of a statement is the sum over the beliefs in which it holds.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from operator import itemgetter
from typing import TYPE_CHECKING, Final

from scaled.core.beginning import first
from scaled.core.belief import Belief
from scaled.core.food import NEGLIGIBLE, NOTHING
from scaled.core.meant import Look, Meanings, Meant, Moved
from scaled.core.unseen import meanings

if TYPE_CHECKING:
    from scaled.core.coming import Coming
    from scaled.core.plan import Plan
    from scaled.core.rest import Rest

MOST: Final = 40
"""Beliefs kept: simulated builds seldom need more than about twenty."""
ALIKE_G: Final = 0.5
"""Where there are more than ``MOST``, weights are compared in steps of this, and those alike are
one: a fine scale over a load that creeps tells the same story in many ways."""
STILL_PRESSED: Final = 0.05
"""Share of presses that still hold as steadily when a rest's level is sharpened."""
SOON_OVER_S: Final = 1.15
"""A rest that lasted no longer than this may have been a hand, or a filter that averaged one;"""
SOON_OVER: Final = 4.0
"""... the likelier by so much, as the logarithm of the odds a second, the sooner it was over:"""
SOONEST_S: Final = 0.55
"""simulated rests this short are as often false as shoulders are."""
STANDS_ON: Final = 0.1
"""... but not where the next one is off by less than this share of what had come: it stands on."""
HOPELESS: Final = 3e-4
"""Beliefs this much less probable than the best are dropped."""
AS_CLOSE: Final = 10.0
"""A look at a belief that left out what is so many times denser is still as good as a new one."""

_BUT_GESTURES: Final = itemgetter(slice(Belief._fields.index("gestures")))
"""Beliefs that differ only in their count of gestures are the same."""
_WEIGHT: Final = itemgetter(0)

Weighed = tuple[float, Belief]


class Tracker:
    """The hypotheses about one scale's pan.

    Args:
        plan: What the build should be.
        hopeless: Beliefs this much less probable than the best are dropped.
    """

    def __init__(self, plan: Plan, hopeless: float = HOPELESS) -> None:
        self._plan = plan
        self._hopeless = hopeless
        self._last: Rest | None = None
        self._coming: tuple[Coming, ...] = ()
        self.beliefs: tuple[Weighed, ...] = ()
        """Probability and belief, most probable first; probabilities sum to one."""

    @property
    def best(self) -> Belief | None:
        """The most probable belief, None before the first rest."""
        return self.beliefs[0][1] if self.beliefs else None

    @property
    def confidence(self) -> float:
        """Probability that the build stands where the best belief says; 0 before any rest."""
        if not self.beliefs:
            return 0.0
        best = self.beliefs[0][1]
        place = (best.mode, best.group, best.fresh)
        return self.probability(lambda b: (b.mode, b.group, b.fresh) == place)

    def advance(self, rest: Rest, meant: Meanings | None = None) -> Moved:
        """Take a new rest, and tell what led to it.

        Args:
            rest: The rest.
            meant: What it means under beliefs that another tracker had as well; grows.
        """
        looks = self.grow(rest, {} if meant is None else meant)
        return Moved.of(looks, jumped=rest.jump is not None)

    def grow(
        self, rest: Rest, meant: Meanings, factor: Callable[[Belief], float] | None = None
    ) -> list[Look]:
        """Take a new rest.

        Args:
            rest: The rest.
            meant: What it means under beliefs that another tracker had as well; grows.
            factor: How much likelier other evidence makes a belief after it; None: there is none.

        Returns:
            What it means under each belief before it; the first rest means nothing.
        """
        if not self.beliefs:
            self.beliefs = self._normalised(first(rest, self._plan, self._coming))
            self._last = rest
            return []
        self._doubt_if_short(rest)
        last_g = self._last.level_g if self._last else None
        looks: list[Look] = []
        most = 0.0
        for chance, belief in self.beliefs:
            least = max(NOTHING, NEGLIGIBLE * most / chance)
            known = meant.get(belief)
            if known is None or known.least > AS_CLOSE * least:
                means = list(meanings(belief, rest, self._plan, last_g, least))
                known = meant[belief] = Meant(least, max(map(_WEIGHT, means), default=0.0), means)
            most = max(most, chance * known.densest)
            looks.append((chance, belief, known))
        grown = _merged(_hopeful(looks, NEGLIGIBLE * most), _BUT_GESTURES)
        if factor is not None:
            grown = [(chance * factor(belief), belief) for chance, belief in grown]
        self.beliefs = self._normalised(grown)
        self._last = rest
        return looks

    def revise(self, before_g: float, rest: Rest) -> None:
        """The last rest's level is now known better: move everything that hangs on it."""
        self._last = rest
        self.beliefs = tuple(
            [(chance, belief.revised(before_g, rest)) for chance, belief in self.beliefs]
        )

    def outlast(self, level_g: float) -> None:
        """The rest at this level goes on longer than a hand presses."""
        self.weigh(lambda belief: 1.0 if belief.stands_at(level_g) else STILL_PRESSED)

    def weigh(self, factor: Callable[[Belief], float]) -> None:
        """Make beliefs likelier or less likely by evidence that is no rest.

        Args:
            factor: How much likelier the evidence is under a belief than otherwise, above 0.
        """
        factors = [factor(belief) for _, belief in self.beliefs]
        if len({*factors}) > 1:  # else it tells nothing
            pairs = zip(factors, self.beliefs, strict=True)
            likelier = [(chance * by, belief) for by, (chance, belief) in pairs]
            self.beliefs = self._normalised(likelier)

    def condition(self, holds: Callable[[Belief], bool]) -> None:
        """Keep only the beliefs in which something known to be true holds.

        Does nothing when none of them would be left.
        """
        kept = [(chance, belief) for chance, belief in self.beliefs if holds(belief)]
        if 0 < len(kept) < len(self.beliefs):
            self.beliefs = self._normalised(kept)

    def change(self, alter: Callable[[Belief], Belief]) -> None:
        """Alter every belief, as a key press does; those that become equal are merged."""
        altered = [(chance, alter(belief)) for chance, belief in self.beliefs]
        self.beliefs = self._normalised(_merged(altered, _BUT_GESTURES))

    def expect(self, build: Coming) -> None:
        """A build that left another scale may be set down here."""
        if self.beliefs:
            self.change(lambda belief: belief._replace(coming=(*belief.coming, build)))
        else:
            self._coming = (*self._coming, build)

    def forget(self, build: Coming) -> None:
        """A build that was expected is somewhere else, and not here."""
        if self.beliefs:
            self.condition(lambda belief: build in belief.coming)
            self.change(lambda belief: belief.without(build))
        else:
            self._coming = tuple(other for other in self._coming if other is not build)

    def probability(self, holds: Callable[[Belief], bool]) -> float:
        """Probability that a statement about the pan is true."""
        return sum(chance for chance, belief in self.beliefs if holds(belief))

    def _doubt_if_short(self, rest: Rest) -> None:
        """Was the last rest soon over when this one came, it may have been a hand's."""
        last = self._last
        if last is None or not last.settled or rest.pause_s >= SOON_OVER_S:
            return
        came_g = abs(last.level_g - last.left_g)
        if abs(rest.level_g - last.level_g) < STANDS_ON * came_g < math.inf:
            return
        odds = math.exp(SOON_OVER * (SOON_OVER_S - max(rest.pause_s, SOONEST_S)))
        self.weigh(lambda belief: 1.0 if belief.stands_at(last.level_g) else odds)

    def _normalised(self, weighed: Sequence[Weighed]) -> tuple[Weighed, ...]:
        floor = self._hopeless * max(map(_WEIGHT, weighed))
        hopeful = [pair for pair in weighed if pair[0] >= floor]
        if len(hopeful) > MOST:
            hopeful = _merged(hopeful, _story)
        kept = sorted(hopeful, key=_WEIGHT, reverse=True)[:MOST]
        total = sum(map(_WEIGHT, kept))
        return tuple([(weight / total, belief) for weight, belief in kept])


def _hopeful(looks: Iterable[Look], least: float) -> Iterator[Weighed]:
    """All that is of more weight than that."""
    for chance, _, known in looks:
        for density, after, _ in known.means:
            weight = chance * density
            if weight >= least:
                yield weight, after


def _merged(
    weighed: Iterable[Weighed], same: Callable[[Belief], tuple[object, ...]]
) -> list[Weighed]:
    """Beliefs that are the same made one: the likeliest of them, with the weight of all."""
    merged: dict[tuple[object, ...], Weighed] = {}
    for pair in weighed:
        key = same(pair[1])
        known = merged.setdefault(key, pair)
        if known is not pair:
            merged[key] = known[0] + pair[0], max(known, pair, key=_WEIGHT)[1]
    return [*merged.values()]


def _story(belief: Belief) -> tuple[object, ...]:
    """What it tells, with weights as coarse as makes many alike."""
    weights = [belief.zero_g, belief.level_g, belief.start_g, belief.base_g, belief.net_g]
    weights += [belief.level_u_g, belief.start_u_g, belief.base_u_g]
    shares = [*belief.closed, *(belief.ended.shares if belief.ended else ())]
    weights += [share.net_g for share in shares]
    return (
        *(belief.mode, belief.fresh, belief.group, belief.ahead, belief.coming, belief.origin),
        *(belief.clear, belief.strange, belief.weighed, belief.zero_guessed, belief.carried),
        *(len(belief.closed), belief.ended is None, bool(belief.gestures)),
        *((share.group, share.clear) for share in shares),
        *(round(weight_g / ALIKE_G) for weight_g in weights),
    )
