"""Weights, volumes and densities as people write them, turned into g, mL and g/mL.

The only module that imports pint: it is slow to load and slow to multiply, so quantities
are converted here, at the edge, and travel on as plain floats.

Cups, spoons, quarts and fluid ounces are the US ones; an ounce is avoirdupois.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from decimal import Decimal
from functools import cache
from typing import TYPE_CHECKING, Final, NamedTuple, Self

from scaled.core.reading import GRAMS, Unit
from scaled.core.wording import quoted

if TYPE_CHECKING:
    from collections.abc import Iterable

    from pint import UnitRegistry

QUART_ML: Final = 946.352946
"""Millilitres in one US liquid quart, exact (NIST Handbook 44, Appendix C)."""

_WEIGHTS: Final = {"g": "gram", "kg": "kilogram", "oz": "ounce", "lb": "pound", "lbs": "pound"}
_VOLUMES: Final = {
    "ml": "milliliter",
    "l": "liter",
    "fl oz": "US_fluid_ounce",
    "fl. oz": "US_fluid_ounce",
    "tsp": "teaspoon",
    "tbsp": "tablespoon",
    "cup": "cup",
    "cups": "cup",
    "pt": "pint",
    "qt": "quart",
}
"""Pint's names of the units a kitchen writes, in any case: pint alone would read G as gauss."""

_NUMBER: Final = r"([0-9]{1,9}(\.[0-9]{1,9})?|\.[0-9]{1,9})"
_WORD: Final = r"[A-Za-z]+(?:\.? [A-Za-z]+)?"
_QUANTITY: Final = re.compile(rf"(?P<number>[+-]?{_NUMBER}) *(?P<unit>{_WORD}(?: */ *{_WORD})?)?")


def _pattern(*units: Iterable[str]) -> str:
    words = (f"({'|'.join(map(_any_case, spellings))})" for spellings in units)
    return rf"^\s*{_NUMBER} *{' */ *'.join(words)}\s*$"


def _any_case(spelling: str) -> str:
    return "".join(f"[{c}{c.upper()}]" if c.isalpha() else f"[{c}]" for c in spelling)


class QuantityError(ValueError):
    """A text is not a quantity of the wanted kind; ``str()`` says why, on one line."""


class Grams(float):
    """A weight in g that remembers how its author wrote it.

    Attributes:
        unit: Unit it was written in.
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


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of quantity.

    Attributes:
        name: What it is called, with its article.
        unit: Pint's name of the unit it is carried in.
        example: How one is written.
        units: The units to write it in, as a phrase.
        pattern: What texts of it look like, any case; a regular expression for JSON Schema.
    """

    name: str
    unit: str
    example: str
    units: str
    pattern: str


WEIGHT: Final = Kind("a weight", "gram", "128 g", "g, kg, oz or lb", _pattern(_WEIGHTS))
VOLUME: Final = Kind(
    "a volume", "milliliter", "60 mL", "mL, L, fl oz, tsp, tbsp, cup, pt or qt", _pattern(_VOLUMES)
)
DENSITY: Final = Kind(
    "a density",
    "gram / milliliter",
    "0.72 g/mL",
    "g/mL, g/cup or oz/cup",
    _pattern(_WEIGHTS, _VOLUMES),
)


class _Written(NamedTuple):
    number: Decimal
    decimals: int
    factor: Decimal


def parse_weight(text: str) -> Grams:
    """Grams in a text such as ``"128 g"``, ``"4.5 oz"`` or ``"0.25 lb"``.

    Raises:
        QuantityError: No number, no unit, an unknown unit, or not a weight.
    """
    number, decimals, factor = _parse(text, WEIGHT)
    unit = next(u for u, grams in GRAMS.items() if math.isclose(grams, factor))
    return Grams(float(number * factor), unit, float(factor.scaleb(-decimals)))


def parse_volume(text: str) -> float:
    """Millilitres in a text such as ``"60 mL"``, ``"2 fl oz"`` or ``"0.5 cup"``.

    Raises:
        QuantityError: No number, no unit, an unknown unit, or not a volume.
    """
    number, _, factor = _parse(text, VOLUME)
    return float(number * factor)


def parse_density(text: str) -> float:
    """Grams per millilitre in a text such as ``"0.72 g/mL"`` or ``"158 g/cup"``.

    Raises:
        QuantityError: No number, no unit, an unknown unit, or not a density.
    """
    number, _, factor = _parse(text, DENSITY)
    return float(number * factor)


@cache
def _registry() -> UnitRegistry[Decimal]:
    import pint  # noqa: PLC0415 -- slow: only when needed

    return pint.UnitRegistry(non_int_type=Decimal)


@cache
def _factor(spelling: str, unit: str) -> Decimal:
    """How many ``unit`` are in one of the unit spelled so, exactly.

    Raises:
        KeyError: A kitchen does not write that unit.
        pint.DimensionalityError: It measures something else.
    """
    words = (" ".join(word.lower().split()) for word in spelling.split("/"))
    names = "/".join({**_WEIGHTS, **_VOLUMES}[word] for word in words)
    registry = _registry()
    return registry.Quantity(Decimal(1), registry.parse_units(names)).to(unit).magnitude


def _parse(text: str, kind: Kind) -> _Written:
    import pint  # noqa: PLC0415

    written = _QUANTITY.fullmatch(text.strip())
    if written is None:
        raise _not_of(kind, text, kind.example)
    number, spelling = written["number"], written["unit"]
    if not spelling:
        such = f"write {kind.name} such as {quoted(kind.example)}"
        raise QuantityError(f"{quoted(text)} has no unit; {such}")
    try:
        factor = _factor(spelling, kind.unit)
    except KeyError:
        such = f"write {kind.name} in {kind.units}"
        message = f"{quoted(text)}: unknown unit {quoted(spelling)}; {such}"
        raise QuantityError(message) from None
    except pint.DimensionalityError:
        # A ladle's "2 oz" is fluid ounces: the one mix-up that every kitchen makes.
        meant = f"{number} fl oz" if kind is VOLUME and spelling.lower() == "oz" else kind.example
        raise _not_of(kind, text, meant) from None
    return _Written(Decimal(number), len(number.partition(".")[2]), factor)


def _not_of(kind: Kind, text: str, example: str) -> QuantityError:
    return QuantityError(f"{quoted(text)} is not {kind.name}; write one such as {quoted(example)}")
