"""What one cook usually puts in: learnt from the final words on the builds before.

Of this session, and of the cook's earlier ones as far as the session was told of them when it
began (see :mod:`scaled.core.past`), unless this one shows that it is another cook or one who has
learnt: then the differences between the two are larger than scatter alone would make them.

A portion's deviation is its cook's eye for that ingredient plus the scatter of single portions.
How much of a mean deviation is the eye's follows from how differently the cook is off from step
to step beside how much one step scatters (a random-effects model, estimated by its moments), both
held to a cook nobody knows until there is enough to go by. Shares are of the target.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from statistics import fmean
from typing import TYPE_CHECKING, Final, NamedTuple, TypeAlias

from scaled.core.events import Attribution
from scaled.core.gesture import STEP_SPREAD

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from scaled.core.events import Portion

EYE: Final = 0.03
"""Spread of an unknown cook's eye between ingredients; the rest of ``STEP_SPREAD`` is scatter."""
WEIGHT: Final = 4
"""An unknown cook's spreads count like so many observed ones."""
KEPT: Final = 12
"""Newest portions of a step that count: cooks learn too."""
FARTHEST: Final = 0.3
"""A portion so far off its target is an accident, and says nothing of the eye."""
CARRIED: Final = 4
"""Newest portions of a step that count in the next session: 12 told no more of the same cook, and
took longer to be outvoted by one who had learnt meanwhile."""
STRANGE: Final = 3.0
"""Standard deviations of chi-square by which a session may differ from the ones before it."""
DIGITS: Final = 4
"""Decimals of a deviation that is carried: as it is written down, it is what was reckoned with."""

Deviations: TypeAlias = Mapping[str, tuple[float, ...]]
"""How far off portions were, by id of their step, oldest first; steps never seen are not in it."""


def deviations(words: Iterable[Portion], targets_g: Mapping[str, float]) -> dict[str, float]:
    """How far off the portions of one build were, by id of the step.

    Args:
        words: Final words on them; only those that are sure and not of nothing tell anything.
        targets_g: Target by id of the step; portions of others are passed over.
    """
    return {
        word.step: word.net_g / targets_g[word.step] - 1
        for word in words
        if word.attribution is Attribution.SURE and word.net_g and word.step in targets_g
    }


class Usual(NamedTuple):
    """Where a cook's portions of one step lie.

    Attributes:
        off: How far off the target their middle is.
        spread: Standard deviation of the next one around that: of a cook nobody knows, and what
            is not known yet of a worse eye. Scatter is not counted in: it is mostly accidents,
            and to expect those made more words wrong.
    """

    off: float = 0.0
    spread: float = STEP_SPREAD


@dataclass(frozen=True, slots=True)
class Habit:
    """How far off one cook's portions were: for each step the newest ones, oldest first.

    Attributes:
        offs: In this session.
        before: In earlier ones.
    """

    offs: tuple[tuple[float, ...], ...]
    before: tuple[tuple[float, ...], ...]

    @classmethod
    def unknown(cls, steps: int) -> Habit:
        """The habit of a cook nobody has seen build so many steps."""
        return cls(((),) * steps, ((),) * steps)

    @classmethod
    def of(cls, steps: Sequence[str], carried: Deviations) -> Habit:
        """The habit that was carried over, as steps in this order; others are passed over."""
        known = (carried.get(step, ())[-KEPT:] for step in steps)
        before = tuple(tuple(off for off in offs if abs(off) < FARTHEST) for offs in known)
        return cls(((),) * len(before), before)

    def carried(self, steps: Sequence[str]) -> dict[str, tuple[float, ...]]:
        """What the cook's next session begins with, of steps with these ids."""
        newest = (tuple(round(off, DIGITS) for off in offs[-CARRIED:]) for offs in self.counting)
        return {step: offs for step, offs in zip(steps, newest, strict=True) if offs}

    def after(self, build: Mapping[int, float]) -> Habit:
        """The habit after one more build.

        Args:
            build: Deviation by step, of steps whose portion is known for sure.
        """
        seen = {step: off for step, off in build.items() if abs(off) < FARTHEST}
        offs = tuple(
            (*offs, seen[step])[-KEPT:] if step in seen else offs
            for step, offs in enumerate(self.offs)
        )
        return replace(self, offs=offs)

    @property
    def counting(self) -> tuple[tuple[float, ...], ...]:
        """Those that count, of this session and of the ones before."""
        if self._changed():
            return self.offs
        both = zip(self.before, self.offs, strict=True)
        return tuple((*before, *offs)[-KEPT:] for before, offs in both)

    def _changed(self) -> bool:
        """Whether this session's portions are not like the earlier ones'.

        The squared differences of means, each in its own variance, add up to a chi-square: about
        one a step, with a variance of two a step.
        """
        both = [pair for pair in zip(self.before, self.offs, strict=True) if pair[0] and pair[1]]
        scatter = _scatter([offs for pair in both for offs in pair])
        strange = math.fsum(
            (fmean(offs) - fmean(before)) ** 2 / (scatter * (1 / len(before) + 1 / len(offs)))
            for before, offs in both
        )
        return strange > len(both) + STRANGE * math.sqrt(2 * len(both))

    def usual(self) -> tuple[Usual, ...]:
        """What is to be expected of the next build, step by step."""
        counting = self.counting
        known = [offs for offs in counting if offs]
        if not known:
            return (Usual(),) * len(counting)
        scatter = _scatter(known)
        eye = _eye(known, scatter)
        return tuple(_usual(offs, eye, scatter) for offs in counting)


def _scatter(known: list[tuple[float, ...]]) -> float:
    """Variance of single portions of one step around their mean."""
    squares = math.fsum((off - fmean(offs)) ** 2 for offs in known for off in offs)
    degrees = sum(len(offs) - 1 for offs in known)
    return (WEIGHT * (STEP_SPREAD**2 - EYE**2) + squares) / (WEIGHT + degrees)


def _eye(known: list[tuple[float, ...]], scatter: float) -> float:
    """Variance of the eye between steps: what scatter alone does not make of their means."""
    between = math.fsum(max(fmean(offs) ** 2 - scatter / len(offs), 0.0) for offs in known)
    return (WEIGHT * EYE**2 + between) / (WEIGHT + len(known))


def _usual(offs: tuple[float, ...], eye: float, scatter: float) -> Usual:
    trust = len(offs) * eye / (len(offs) * eye + scatter)
    unknown = max((1 - trust) * eye - EYE**2, 0.0)
    spread = math.hypot(STEP_SPREAD, math.sqrt(unknown))
    return Usual(trust * fmean(offs) if offs else 0.0, spread)
