"""Weights, volumes and densities as people write them, turned into g, mL and g/mL.

The only module that imports pint: it is slow to load and slow to multiply, so quantities
are converted here, at the edge, and travel on as plain floats.

Cups, spoons, quarts and fluid ounces are the US ones; an ounce is avoirdupois.
"""

from __future__ import annotations

import math
import re
from decimal import Decimal
from functools import cache
from typing import TYPE_CHECKING, Final, Self

from scaled.core.reading import GRAMS, Unit
from scaled.core.wording import quoted

if TYPE_CHECKING:
    from pint import UnitRegistry

QUART_ML: Final = 946.352946
"""Millilitres in one US liquid quart, exact (NIST Handbook 44, Appendix C)."""

_SPELLINGS: Final = {
    "g": "gram",
    "kg": "kilogram",
    "oz": "ounce",
    "lb": "pound",
    "lbs": "pound",
    "ml": "milliliter",
    "l": "liter",
    "fl oz": "US_fluid_ounce",
    "fl. oz": "US_fluid_ounce",
    "fl.oz": "US_fluid_ounce",
    "floz": "US_fluid_ounce",
    "tbsp": "tablespoon",
    "tsp": "teaspoon",
    "cup": "cup",
    "pt": "pint",
    "qt": "quart",
}
"""Kitchen spellings in any case; pint alone minds the case and has no "fl oz"."""

_NUMBER: Final = r"([+-]?[0-9]{1,12}(?:\.([0-9]{1,12}))?)"
_WORD: Final = r"(?:fl\.? ?oz|[a-zµ]{1,24})"
_QUANTITY: Final = re.compile(rf"{_NUMBER}\s*({_WORD}(?:\s*/\s*{_WORD})?)?", re.IGNORECASE)


class QuantityError(ValueError):
    """A text is not a quantity of the wanted kind; ``str()`` says why, on one line."""


class Grams(float):
    """A weight in g that remembers how its author wrote it.

    Attributes:
        unit: Unit it was written in; g when no scale shows that unit.
        digit_g: What one step of the last written digit weighs, g; 0 when nothing was written.
    """

    __slots__ = ("digit_g", "unit")
    unit: Unit
    digit_g: float

    def __new__(cls, grams: float, unit: Unit = Unit.G, digit_g: float = 0.0) -> Self:
        """A weight of so many grams, written in ``unit``."""
        weight = super().__new__(cls, grams)
        weight.unit = unit
        weight.digit_g = digit_g
        return weight


def parse_weight(text: str) -> Grams:
    """Grams in a text such as ``"128 g"``, ``"4.5 oz"`` or ``"0.25 lb"``.

    Raises:
        QuantityError: No number, no unit, an unknown unit, or not a weight.
    """
    number, decimals, factor = _parse(text, "gram", "a weight", "128 g")
    unit = next((u for u, g in GRAMS.items() if math.isclose(g, factor)), Unit.G)
    return Grams(float(number * factor), unit, float(factor.scaleb(-decimals)))


def parse_volume(text: str) -> float:
    """Millilitres in a text such as ``"60 mL"``, ``"2 fl oz"`` or ``"0.5 cup"``.

    Raises:
        QuantityError: No number, no unit, an unknown unit, or not a volume.
    """
    number, _, factor = _parse(text, "milliliter", "a volume", "60 mL")
    return float(number * factor)


def parse_density(text: str) -> float:
    """Grams per millilitre in a text such as ``"0.72 g/mL"`` or ``"158 g/cup"``.

    Raises:
        QuantityError: No number, no unit, an unknown unit, or not a density.
    """
    number, _, factor = _parse(text, "gram / milliliter", "a density", "0.72 g/mL")
    return float(number * factor)


@cache
def _registry() -> UnitRegistry[Decimal]:
    import pint  # noqa: PLC0415 -- slow: only when needed

    return pint.UnitRegistry(non_int_type=Decimal)


@cache
def _factor(spelling: str, unit: str) -> Decimal:
    """How many ``unit`` are in one of the unit spelled so; raises pint's own errors."""
    registry = _registry()
    words = [word.strip() for word in spelling.split("/")]
    spelled = "/".join(_SPELLINGS.get(word.lower(), word) for word in words)
    return registry.Quantity(Decimal(1), registry.parse_units(spelled)).to(unit).magnitude


def _parse(text: str, unit: str, kind: str, example: str) -> tuple[Decimal, int, Decimal]:
    """The number written, its count of decimals, and how many ``unit`` one of its unit is."""
    import pint  # noqa: PLC0415

    written = _QUANTITY.fullmatch(text.strip())
    if written is None:
        raise QuantityError(f"{quoted(text)} is not {kind}; write one such as {quoted(example)}")
    number, decimals, spelling = written.groups()
    if not spelling:
        raise QuantityError(f"{quoted(text)} has no unit; write {kind} such as {quoted(example)}")
    try:
        return Decimal(number), len(decimals or ""), _factor(spelling, unit)
    except pint.DimensionalityError:
        reason = f"{quoted(text)} is not {kind}"
        if kind == "a volume" and spelling.strip().lower() in {"oz", "ounce", "ounces"}:
            example = f"{number} fl oz"
    except (pint.PintError, ValueError, AttributeError):
        reason = f"{quoted(text)}: unknown unit {quoted(spelling)}"
    raise QuantityError(f"{reason}; write {kind} such as {quoted(example)}") from None
