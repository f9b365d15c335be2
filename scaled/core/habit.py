"""What one cook usually puts in: learnt from the final words on the builds before.

A portion's deviation is its cook's eye for that ingredient plus the scatter of single portions.
How much of a mean deviation is the eye's follows from how differently the cook is off from step
to step beside how much one step scatters (a random-effects model, estimated by its moments), both
held to a cook nobody knows until there is enough to go by. Shares are of the target.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import fmean
from typing import TYPE_CHECKING, Final, NamedTuple

from scaled.core.gesture import STEP_SPREAD

if TYPE_CHECKING:
    from collections.abc import Mapping

EYE: Final = 0.03
"""Spread of an unknown cook's eye between ingredients; the rest of ``STEP_SPREAD`` is scatter."""
WEIGHT: Final = 4
"""An unknown cook's spreads count like so many observed ones."""
KEPT: Final = 12
"""Newest portions of a step that count: cooks learn too."""
FARTHEST: Final = 0.3
"""A portion further off its target than this is an accident; it counts as so far off."""


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
    """How far off one cook's portions were.

    Attributes:
        offs: For each step the newest deviations, oldest first.
    """

    offs: tuple[tuple[float, ...], ...]

    @classmethod
    def unknown(cls, steps: int) -> Habit:
        """The habit of a cook nobody has seen build so many steps."""
        return cls(((),) * steps)

    def after(self, build: Mapping[int, float]) -> Habit:
        """The habit after one more build.

        Args:
            build: Deviation by step, of steps whose portion is known for sure.
        """
        seen = {step: max(-FARTHEST, min(FARTHEST, off)) for step, off in build.items()}
        return Habit(
            tuple(
                (*offs, seen[step])[-KEPT:] if step in seen else offs
                for step, offs in enumerate(self.offs)
            )
        )

    def usual(self) -> tuple[Usual, ...]:
        """What is to be expected of the next build, step by step."""
        known = [offs for offs in self.offs if offs]
        if not known:
            return (Usual(),) * len(self.offs)
        scatter = _scatter(known)
        eye = _eye(known, scatter)
        return tuple(_usual(offs, eye, scatter) for offs in self.offs)


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
