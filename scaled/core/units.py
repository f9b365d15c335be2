"""Weights, volumes and densities as people write them, turned into g, mL and g/mL.

The only module that imports pint: it is slow to load and slow to multiply, so quantities
are converted here, at the edge, and travel on as plain floats.
"""

from __future__ import annotations

import re
from functools import cache
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from pint import UnitRegistry

QUART_ML: Final = 946.352946
"""Millilitres in one US liquid quart, exact (NIST Handbook 44, Appendix C)."""

_ALIASES: Final = {"fl oz": "US_fluid_ounce", "fl. oz": "US_fluid_ounce", "qt": "quart"}
_QUANTITY: Final = re.compile(r"\s*([+-]?\d+(?:\.\d+)?)\s*([A-Za-zµ][A-Za-zµ. /]*?)?\s*")


class QuantityError(ValueError):
    """A text is not a quantity of the wanted kind; ``str()`` says why."""


def parse_weight(text: str) -> float:
    """Grams in a text such as ``"128 g"``, ``"4.5 oz"`` or ``"0.25 lb"``.

    Raises:
        QuantityError: No number, no unit, an unknown unit, or not a weight.
    """
    return _parse(text, "gram", "a weight", "128 g")


def parse_volume(text: str) -> float:
    """Millilitres in a text such as ``"60 mL"``, ``"2 fl oz"`` or ``"0.5 cup"``.

    Raises:
        QuantityError: No number, no unit, an unknown unit, or not a volume.
    """
    return _parse(text, "milliliter", "a volume", "60 mL")


def parse_density(text: str) -> float:
    """Grams per millilitre in a text such as ``"0.72 g/mL"`` or ``"158 g/cup"``.

    Raises:
        QuantityError: No number, no unit, an unknown unit, or not a density.
    """
    return _parse(text, "gram / milliliter", "a density", "0.72 g/mL")


@cache
def _registry() -> UnitRegistry[float]:
    import pint  # noqa: PLC0415 -- slow: only when needed

    return pint.UnitRegistry()


@cache
def _factor(spelling: str, unit: str) -> float:
    """How many ``unit`` are in one of the unit spelled so; raises pint's own errors."""
    registry = _registry()
    spelled = registry.parse_units(_ALIASES.get(spelling, spelling))
    return float(registry.Quantity(1.0, spelled).to(unit).magnitude)


def _parse(text: str, unit: str, kind: str, example: str) -> float:
    import pint  # noqa: PLC0415

    written = _QUANTITY.fullmatch(text)
    if written is None:
        raise QuantityError(f'"{text}" is not {kind}; write a number and a unit: "{example}"')
    number, spelling = written.groups()
    if not spelling:
        raise QuantityError(f'"{text}" has no unit; write {kind} such as "{example}"')
    try:
        return float(number) * _factor(spelling, unit)
    except pint.DimensionalityError:
        raise QuantityError(f'"{text}" is not {kind}; write one such as "{example}"') from None
    except (pint.PintError, ValueError, AttributeError):
        raise QuantityError(
            f'"{text}": unknown unit "{spelling}"; write {kind} such as "{example}"'
        ) from None
