"""What no kitchen scale shows, however whole the frame that says it looks."""

from __future__ import annotations

from typing import Final

from scaled.core.reading import GRAMS, Unit

HEAVIEST_G: Final = 1_000_000.0
"""A tonne, g: far beyond any scale in a kitchen (common practice, no published source)."""


def is_plausible(weight: float, unit: Unit | None) -> bool:
    """Whether a scale may show it; without a unit, as if in the smallest."""
    return abs(weight) * GRAMS[unit or Unit.G] <= HEAVIEST_G
