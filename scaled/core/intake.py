"""Readings as they come, turned into grams; what makes no sense is left out."""

from __future__ import annotations

from math import isfinite
from typing import Final

from scaled.core.division import fineness
from scaled.core.reading import GRAMS, Reading, Unit

HEAVIEST_G: Final = 100_000.0
"""No kitchen portion scale shows more; such a number is a damaged frame."""
LEAST_JUMP: Final = 1.5
"""A unit key changes the number at least this many times over (the least step is lb to kg)."""
LEAST_G: Final = 50.0
"""Less weight is shown too coarsely to tell by its ratio alone that the unit was switched;"""
SAME_WEIGHT: Final = 0.01
"""... of more, the same may differ by this share between two units, rounding included."""
LEAST: Final = 3.0
"""Less, in divisions, tells nothing even where the old unit cannot show the number;"""
ALIKE: Final = 1.25
"""... of more, the same may differ by so many: half of both steps, 0.05 oz beside 1 g at worst."""


class Intake:
    """The door: one scale's readings in, grams out."""

    __slots__ = ("_grams", "_hint", "_last", "_suspect", "unit")

    def __init__(self) -> None:
        self.unit: Unit = Unit.G
        """Unit of readings that carry none: the last one seen, or found out."""
        self._last: Reading | None = None
        self._grams = 0.0
        self._suspect: Unit | None = None
        """The unit that the last number told of, if it was held back."""
        self._hint: Unit | None = None
        """The unit that a number may have been in which both could show."""

    def read(self, reading: Reading, division_g: float | None = None) -> float | None:
        """The weight in grams.

        Args:
            reading: The reading.
            division_g: The scale's smallest displayed step, g; None when that is not known.

        Returns:
            None when the reading is to be ignored: not a finite sensible number, its time not
            after the last one's, the last one sent twice, or the first after what may be a
            press of the unit key, until the next one confirms it.
        """
        last, t, weight, unit = self._last, reading.t, reading.weight, reading.unit
        if last is not None and t <= last.t:
            return None
        if not (isfinite(t) and isfinite(weight)):
            return None
        if unit is None:
            if self._switched(weight, division_g):
                self._last = reading
                return None
            unit = self.unit
        grams = weight * GRAMS[unit]
        if abs(grams) > HEAVIEST_G:
            return None
        self._last, self._grams, self.unit = reading, grams, unit
        return grams

    def correct(self, unit: Unit) -> float:
        """Take readings without a unit to be in this one, the last one included.

        Returns:
            What the last weight is multiplied by.
        """
        ratio = GRAMS[unit] / GRAMS[self.unit]
        self._grams *= ratio
        self.unit, self._suspect, self._hint = unit, None, None
        return ratio

    def _switched(self, weight: float, division_g: float | None) -> bool:
        """Whether this number, in no unit, is the weight of before in another unit.

        The first such number is held back; a second one in a row makes the switch.
        """
        unit = self._other(weight, division_g)
        if unit is not None and unit is self._suspect:
            self.unit, self._suspect, self._hint = unit, None, None
            return False
        self._suspect = unit
        return unit is not None

    def _other(self, weight: float, division_g: float | None) -> Unit | None:
        """The unit that a number tells of, None when it may well be in the one of before."""
        if not weight:
            self._hint = None  # what is set down on an empty pan tells better
        if self._hint is None and self._is_near(weight):
            return None
        unit = next((unit for unit in Unit if self._fits(weight, unit)), None)
        if unit is not None or division_g is None:
            return unit
        like = next((unit for unit in Unit if self._is_like(weight, unit, division_g)), None)
        self._hint = like or self._hint
        if self._hint is None or fineness(weight, self._hint, division_g) < 1:
            return None
        return self._hint if fineness(weight, self.unit, division_g) < 1 else None

    def _is_near(self, weight: float) -> bool:
        """Whether a number is too near to the one before for any unit key."""
        moved_g = abs(weight * GRAMS[self.unit] - self._grams)
        return moved_g < (1 - 1 / LEAST_JUMP) * abs(self._grams)

    def _fits(self, weight: float, unit: Unit) -> bool:
        """Whether a number is so exactly the weight of before that it must be in this unit."""
        before_g = abs(self._grams)
        return before_g >= LEAST_G and self._jumps(weight, unit, SAME_WEIGHT * before_g)

    def _is_like(self, weight: float, unit: Unit, division_g: float) -> bool:
        """Whether a number is as nearly the weight of before as the display can show it."""
        enough = abs(self._grams) >= LEAST * division_g
        return enough and self._jumps(weight, unit, ALIKE * division_g)

    def _jumps(self, weight: float, unit: Unit, within_g: float) -> bool:
        ratio = GRAMS[unit] / GRAMS[self.unit]
        if unit is self.unit or 1 / LEAST_JUMP < ratio < LEAST_JUMP:
            return False
        return abs(weight * GRAMS[unit] - self._grams) <= within_g
