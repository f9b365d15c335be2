"""How much a pan shakes while it seems to move."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from statistics import median
from typing import Final

TURNS: Final = 0.4
"""Share of readings at which shaking changes direction (white noise: two thirds)."""
MOST_SHAKING: Final = 3.0
"""Stronger shaking, in divisions, is movement."""


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
