"""Where a weight stands on the gauge; the band is always at the same place on the screen.

The rail has three stretches of fixed share: from nothing to the lower limit, the band itself,
and beyond. A cook learns where the band is and sees the needle reach it, whatever the portion;
the price is that the stretches have different scales, and the needle slows down as the limit
comes near.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

BAND_FROM: Final = 0.52
BAND_TO: Final = 0.84


@dataclass(frozen=True, slots=True)
class Band:
    """What still passes, g; limits inclusive."""

    lower_g: float
    target_g: float
    upper_g: float

    def share(self, weight_g: float) -> float:
        """Place of a weight along the rail, 0 left end to 1 right end, clipped."""
        width_g = self.upper_g - self.lower_g
        if weight_g < self.lower_g:
            return max(0.0, weight_g / self.lower_g * BAND_FROM) if self.lower_g else 0.0
        if weight_g <= self.upper_g:
            inside = (weight_g - self.lower_g) / width_g if width_g else 0.5
            return BAND_FROM + inside * (BAND_TO - BAND_FROM)
        beyond_g = max(width_g, 0.25 * self.target_g)
        return min(1.0, BAND_TO + (weight_g - self.upper_g) / beyond_g * (1 - BAND_TO))
