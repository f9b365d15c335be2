"""Readings as they come, turned into grams; what makes no sense is left out."""

from __future__ import annotations

import math
from typing import Final

from scaled.core.reading import GRAMS, Reading, Unit

HEAVIEST_G: Final = 100_000.0
"""No kitchen portion scale shows more; such a number is a damaged frame."""
LEAST_JUMP: Final = 1.5
"""A unit key changes the number at least this many times over (the least step is lb to kg)."""
LEAST_G: Final = 50.0
"""Less weight is shown too coarsely to tell by its ratio that the unit was switched."""
SAME_WEIGHT: Final = 0.01
"""Share by which the same weight may differ between two units, rounding included."""


class Intake:
    """The door: one scale's readings in, grams out."""

    __slots__ = ("_grams", "_last", "_suspect", "unit")

    def __init__(self) -> None:
        self.unit: Unit = Unit.G
        """Unit of readings that carry none: the last one seen, or found out."""
        self._last: Reading | None = None
        self._grams = 0.0
        self._suspect: Unit | None = None

    def read(self, reading: Reading) -> float | None:
        """The weight in grams.

        Returns:
            None when the reading is to be ignored: not a finite sensible number, its time not
            after the last one's, the last one sent twice, or the first after what may be a
            press of the unit key, until the next one confirms it.
        """
        last = self._last
        if last is not None and reading.t <= last.t:
            return None
        if not math.isfinite(reading.t) or not math.isfinite(reading.weight):
            return None
        if reading.unit is None and self._switched(reading.weight):
            self._last = reading
            return None
        grams = reading.weight * GRAMS[reading.unit or self.unit]
        if abs(grams) > HEAVIEST_G:
            return None
        self._last, self._grams = reading, grams
        if reading.unit is not None:
            self.unit = reading.unit
        return grams

    def correct(self, unit: Unit) -> float:
        """Take readings without a unit to be in this one, the last one included.

        Returns:
            What the last weight is multiplied by.
        """
        ratio = GRAMS[unit] / GRAMS[self.unit]
        self._grams *= ratio
        self.unit, self._suspect = unit, None
        return ratio

    def _switched(self, weight: float) -> bool:
        """Whether this number, in no unit, is the weight of before in another unit.

        The first such number is held back; a second one in a row makes the switch.
        """
        unit = next((unit for unit in Unit if self._fits(weight, unit)), None)
        if unit is not None and unit is self._suspect:
            self.unit, self._suspect = unit, None
            return False
        self._suspect = unit
        return unit is not None

    def _fits(self, weight: float, unit: Unit) -> bool:
        ratio = GRAMS[unit] / GRAMS[self.unit]
        if unit is self.unit or 1 / LEAST_JUMP < ratio < LEAST_JUMP or abs(self._grams) < LEAST_G:
            return False
        return abs(weight * GRAMS[unit] - self._grams) <= SAME_WEIGHT * abs(self._grams)
