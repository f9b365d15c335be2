"""One displayed weight with its time, as every driver delivers it."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Final


class Unit(StrEnum):
    """Weight units a kitchen scale can show."""

    G = "g"
    KG = "kg"
    OZ = "oz"
    LB = "lb"


GRAMS: Final = MappingProxyType(
    {Unit.G: 1.0, Unit.KG: 1000.0, Unit.OZ: 28.349523125, Unit.LB: 453.59237}
)
"""Exact grams in each unit (NIST Handbook 44, Appendix C; avoirdupois)."""


@dataclass(frozen=True, slots=True)
class Reading:
    """One displayed weight.

    Attributes:
        t: Seconds on the stream's own clock; never runs backwards.
        weight: The number on the display, in ``unit``.
        unit: Unit shown, or None when the frame carried none.
        stable: The scale's own stability mark, or None when it has none.
    """

    t: float
    weight: float
    unit: Unit | None = None
    stable: bool | None = None
