"""What a scale makes of a weight: its display's steps, how its pan shakes, how its filter lags."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import median
from typing import Final

from scaled.core.line import Line

TURNS: Final = 0.4
"""Share of readings at which shaking changes direction (white noise: two thirds)."""
MOST_SHAKING: Final = 3.0
"""Stronger shaking, in divisions, is movement."""
ENOUGH_READINGS: Final = 5
"""Fewer readings tell next to nothing of the noise."""
KEPT: Final = 0.85
"""Weight of what was known of the noise against one new rest."""
FIRST_GUESS: Final = 0.3
"""Noise before any rest was seen, in divisions: that of a scale worth reading."""
LEAST: Final = 0.1
"""Quiet pans show no noise at all, but have some, in divisions."""
LAG_S: Final = 0.35
"""A kitchen indicator's filter still holds back up to this, as a time on the present slope."""
SLOW: Final = (0.6, 1.4)
"""A filter known to be slower holds back so many of its time constants, at least and at most."""


@dataclass(slots=True)
class Grain:
    """How fine a scale can be read.

    Attributes:
        division_g: Smallest displayed step, g.
        noise_g: Standard deviation of one reading at rest.
        held_s: What its filter still holds back, as a time on the present slope, at least and at
            most.
    """

    division_g: float
    noise_g: float
    held_s: tuple[float, float] = (0.0, LAG_S)

    @classmethod
    def of(cls, division_g: float) -> Grain:
        """A scale of which only the division is known."""
        return cls(division_g, FIRST_GUESS * division_g)

    def learn(self, rest: Line) -> None:
        """Take the readings of one rest."""
        if rest.n >= ENOUGH_READINGS:
            kept = KEPT * self.noise_g**2 + (1 - KEPT) * rest.spread**2
            self.noise_g = max(math.sqrt(kept), LEAST * self.division_g)

    def at_least(self, noise_g: float) -> Grain:
        """The same scale on a pan that shakes this much or more."""
        return Grain(self.division_g, max(self.noise_g, noise_g), self.held_s)

    def learn_lag(self, lag_s: float) -> None:
        """Take the time constant of its filter, s, if it is a slow one."""
        least, most = SLOW
        self.held_s = (least * lag_s, most * lag_s) if lag_s > LAG_S else (0.0, LAG_S)


def shaking(weights: Sequence[float], division_g: float) -> float:
    """Noise from second differences, blind to level and slope, g; 0 when it is movement.

    For white noise of deviation s they have deviation s sqrt(6); the median of the absolute
    values is 0.6745 of that (normal distribution). Noise goes up and down by turns, movement
    keeps its direction.

    Args:
        weights: The newest second or two of readings, g, oldest first.
        division_g: Smallest displayed step.
    """
    steps = [b - a for a, b in pairwise(weights)]
    turns = sum(1 for a, b in pairwise(steps) if a * b < 0)
    if len(steps) < 3 or turns < TURNS * (len(steps) - 1):
        return 0.0
    bends = [abs(b - a) for a, b in pairwise(steps)]
    return min(median(bends) / (0.6745 * math.sqrt(6)), MOST_SHAKING * division_g)
