"""Readings as they come, turned into grams; what makes no sense is left out."""

from __future__ import annotations

import math
from typing import Final

from scaled.core.reading import GRAMS, Reading, Unit

HEAVIEST_G: Final = 100_000.0
"""No kitchen portion scale shows more; such a number is a damaged frame."""


class Intake:
    """The door: one scale's readings in, grams out."""

    __slots__ = ("_last", "unit")

    def __init__(self) -> None:
        self.unit: Unit = Unit.G
        """Unit of readings that carry none: the last one seen."""
        self._last: Reading | None = None

    def read(self, reading: Reading) -> float | None:
        """The weight in grams.

        Returns:
            None when the reading is to be ignored: not a finite sensible number, its time not
            after the last one's, or the last one sent twice.
        """
        last = self._last
        if last is not None and reading.t <= last.t:
            return None
        grams = reading.weight * GRAMS[reading.unit or self.unit]
        if not math.isfinite(reading.t) or not abs(grams) <= HEAVIEST_G:
            return None
        self._last = reading
        if reading.unit is not None:
            self.unit = reading.unit
        return grams
