"""Which container was set down: the known ones are recognised by their weight.

Shares are of the containers that come onto a station's pan; every number is a starting point,
not measured in kitchens.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Final, NamedTuple

from scaled.core.gesture import ASKED_AGAIN, flat, normal
from scaled.core.live import Odd

if TYPE_CHECKING:
    from scaled.core.profile import BuildProfile, Container, OtherContainer

SPREAD: Final = 0.05
"""Spread of a container's weight, as a share of it, when the profile gives no tolerance."""
LEAST_SPREAD_G: Final = 0.5
WRONG: Final = 0.05
"""Share of known containers that are wrong for the dish, all of them together."""
SIMILAR: Final = 0.05
"""Share of containers like the profile's but not it: another maker's, wet, with a lid on."""
SIMILAR_SPREAD: Final = 0.3
"""How far those are off, as a share of the tare."""
STRANGE: Final = 0.02
"""Share of containers that nobody told the station of, up to ``STRANGE_G``."""
STRANGE_G: Final = 300.0
LIGHTEST_G: Final = 2.0
"""Nothing that holds a dish weighs less."""
SURE: Final = 0.80
"""Least probability of a container that is named though it may be the profile's own."""
FITS: Final = 3.0
"""A weight may be a container's up to so many standard deviations away from its own."""


@dataclass(frozen=True, slots=True)
class Known:
    """A container that the profile knows.

    Attributes:
        name: What people call it.
        tare_g: Its written weight.
        spread_g: Standard deviation of it; a written tolerance counts as two of them.
        accepted: The dish may be built in it.
        share: How often it is the one that is set down.
    """

    name: str
    tare_g: float
    spread_g: float
    accepted: bool
    share: float

    def fits(self, weight_g: float, u_g: float) -> bool:
        """Whether a weight, known to ``u_g``, may be this container's."""
        return abs(weight_g - self.tare_g) <= FITS * math.hypot(self.spread_g, u_g)

    def density(self, weight_g: float, u_g: float) -> float:
        """Density of a weight of this container, known to ``u_g``."""
        return normal(weight_g - self.tare_g, math.hypot(self.spread_g, u_g))


class Guess(NamedTuple):
    """What a weight says of the container.

    Attributes:
        known: Which one it most likely is; None: none of those that are known.
        confidence: Probability of that.
    """

    known: Known | None
    confidence: float


@dataclass(frozen=True, eq=False)
class Containers:
    """All that may be set down for one dish.

    One is never equal to another, so that asking for the same one is quick.

    Attributes:
        known: The profile's own container first, then the others it names.
    """

    known: tuple[Known, ...]

    @classmethod
    def of(cls, profile: BuildProfile) -> Containers:
        """The containers of a profile."""
        others = profile.other_containers
        right = 1 + sum(other.accepted for other in others)
        wrong = 1 + len(others) - right
        rest = 1 - SIMILAR - STRANGE - (WRONG if wrong else 0.0)
        known = [_known(profile.container, accepted=True, share=rest / right)]
        for other in others:
            share = rest / right if other.accepted else WRONG / wrong
            known.append(_known(other, accepted=other.accepted, share=share))
        return cls(tuple(known))

    @property
    def own(self) -> Known:
        """The profile's own."""
        return self.known[0]

    @cached_property
    def right(self) -> tuple[Known, ...]:
        """Those that the dish may be built in."""
        return tuple(known for known in self.known if known.accepted)

    def fits(self, weight_g: float, u_g: float) -> bool:
        """Whether a weight may be that of a known one."""
        return any(known.fits(weight_g, u_g) for known in self.known)

    def density(self, weight_g: float, u_g: float) -> float:
        """Density of the weight of whatever is set down as a container."""
        return _density(self, weight_g, u_g)

    def familiar(self, weight_g: float, u_g: float) -> float:
        """The part of :meth:`density` that the known ones make."""
        return _familiar(self, weight_g, u_g)

    def guess(self, weight_g: float, u_g: float) -> Guess:
        """Which container weighs this.

        While it may be the profile's own, nothing else is said unless that is sure: two
        containers that weigh alike cannot be told apart.
        """
        total = self.density(weight_g, u_g)
        if total == 0.0:
            return Guess(None, 1.0)
        chances = [known.share * known.density(weight_g, u_g) / total for known in self.known]
        best = max(range(len(chances)), key=chances.__getitem__)
        if chances[best] < SURE and self.own.fits(weight_g, u_g):
            return Guess(self.own, chances[0])
        stranger = self.others(weight_g) / total
        if stranger > chances[best]:
            return Guess(None, stranger)
        return Guess(self.known[best], chances[best])

    def wrongness(self, weight_g: float, u_g: float) -> float:
        """Probability that a container of this weight is none that the dish may be built in."""
        total = self.density(weight_g, u_g)
        right = math.fsum(known.share * known.density(weight_g, u_g) for known in self.right)
        return 1 - right / total if total else 1.0

    def odd(self, weight_g: float, u_g: float) -> Odd:
        """What is to be said of a container that is not right, its name if that is sure."""
        known, confidence = self.guess(weight_g, u_g)
        return Odd(known.name if known and confidence >= SURE else None, weight_g)

    def others(self, weight_g: float) -> float:
        """The part that containers make which nobody told the station of."""
        own = self.own
        similar = normal(weight_g - own.tare_g, SIMILAR_SPREAD * own.tare_g + own.spread_g)
        return SIMILAR * similar + STRANGE * flat(weight_g - LIGHTEST_G, STRANGE_G)


@lru_cache(ASKED_AGAIN)
def _density(containers: Containers, weight_g: float, u_g: float) -> float:
    if weight_g <= 0.0:
        return 0.0
    return containers.familiar(weight_g, u_g) + containers.others(weight_g)


@lru_cache(ASKED_AGAIN)
def _familiar(containers: Containers, weight_g: float, u_g: float) -> float:
    return math.fsum([known.share * known.density(weight_g, u_g) for known in containers.known])


def spread_g(container: Container | OtherContainer) -> float:
    """Standard deviation of a container's weight, g; a written tolerance counts as two."""
    written = container.tare_tolerance_g
    return max(SPREAD * container.tare_g if written is None else written / 2, LEAST_SPREAD_G)


def _known(container: Container | OtherContainer, *, accepted: bool, share: float) -> Known:
    tare_g = float(container.tare_g)
    return Known(container.name, tare_g, spread_g(container), accepted, share)
