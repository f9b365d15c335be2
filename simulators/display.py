"""What a scale shows: units, divisions, and one displayed weight."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from types import MappingProxyType
from typing import Final, Self

GRAMS: Final = MappingProxyType({"g": 1.0, "kg": 1000.0, "oz": 28.349523125, "lb": 453.59237})
"""Exact grams in each unit (NIST Handbook 44, Appendix C; avoirdupois)."""

_WRITTEN: Final = re.compile(r"\s*(\d+(?:\.\d+)?)\s*(g|kg|oz|lb)\s*")


class DivisionError(ValueError):
    """A text is not a division; ``str()`` says why."""


@dataclass(frozen=True, slots=True)
class Division:
    """The smallest displayed step: ``size`` in ``unit``."""

    size: Decimal
    unit: str

    @classmethod
    def parse(cls, text: str) -> Self:
        """The division written as ``"1g"``, ``"0.5 g"`` or ``"0.05 oz"``.

        Raises:
            DivisionError: Not a number above zero followed by g, kg, oz or lb.
        """
        written = _WRITTEN.fullmatch(text)
        if written is None or not (size := Decimal(written[1])):
            raise DivisionError(f'"{text}" is not a division; write one such as "1g" or "0.05oz"')
        return cls(size, written[2])

    def __str__(self) -> str:
        return f"{self.size} {self.unit}"

    @property
    def size_g(self) -> float:
        """The step in g."""
        return float(self.size) * GRAMS[self.unit]

    def round(self, weight_g: float) -> Decimal:
        """The nearest multiple of the division, in its unit; halves go up."""
        return math.floor(weight_g / self.size_g + 0.5) * self.size

    def to(self, unit: str) -> Division:
        """The division the same scale has in another unit.

        The finest step of the form 1, 2 or 5 times a power of ten (the form OIML R 76-1 asks for)
        that is not finer than this one.
        """
        if unit == self.unit:
            return self
        least = self.size_g / GRAMS[unit] * (1 - 1e-9)
        power = math.floor(math.log10(least))
        steps = (Decimal(digit).scaleb(power) for digit in (1, 2, 5, 10))
        return Division(next(step for step in steps if step >= least), unit)


class Span(StrEnum):
    """Where the load stands in the scale's range."""

    WITHIN = "within"
    ABOVE = "above"
    """Heavier than the scale can weigh: no number is shown."""
    BELOW = "below"
    """Lighter than its zero allows (the platter is off): no number is shown."""


@dataclass(frozen=True, slots=True)
class Shown:
    """One displayed weight.

    Attributes:
        t: Seconds since the simulation began.
        weight: The number on the display; its decimals are those shown.
        unit: g, kg, oz or lb.
        stable: The scale's own mark, None when it has none.
        net: A tare is being taken off.
        span: Whether there is a number at all.
    """

    t: float
    weight: Decimal
    unit: str
    stable: bool | None = None
    net: bool = False
    span: Span = Span.WITHIN
