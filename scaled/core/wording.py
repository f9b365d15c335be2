"""Weights, choices and quotes as people read them; one line, nothing a terminal would obey."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from scaled.core.reading import GRAMS, Unit

_LONGEST: Final = 60
_FINEST_G: Final = 0.3
"""What need not be seen: the digits of a spelled weight go down to this in any unit, g."""


def quoted(text: str) -> str:
    """The text in quotes, as its author wrote it: one line, shortened past 60 characters."""
    shown = text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"
    return '"' + "".join(c if c.isprintable() else repr(c)[1:-1] for c in shown) + '"'


def choices(options: Iterable[str]) -> str:
    """The options as a phrase: ``a, b or c``."""
    *most, last = options
    return f"{', '.join(most)} or {last}" if most else last


def spell(grams: float, unit: Unit) -> str:
    """A weight in the author's unit: ``13.75 oz``, ``128 g``."""
    return f"{spell_number(grams, unit)} {unit.value}"


def spell_number(grams: float, unit: Unit) -> str:
    """The number alone, without digits that cannot matter: to 0.1 g, 0.01 oz, 0.0001 kg."""
    number = f"{grams / GRAMS[unit]:.{_decimals(unit)}f}".rstrip("0").rstrip(".")
    return "0" if number == "-0" else number


def round_up(grams: float, unit: Unit) -> float:
    """The least weight that is spelled exactly and is no less, g."""
    digit_g: float = GRAMS[unit] / 10 ** _decimals(unit)
    return math.ceil(grams / digit_g - 1e-9) * digit_g


def _decimals(unit: Unit) -> int:
    return math.ceil(math.log10(GRAMS[unit] / _FINEST_G))


def spell_both(grams: float, unit: Unit) -> str:
    """A weight in the author's unit and, when that is another, in g: ``0.55 oz (15.6 g)``."""
    in_grams = spell(grams, Unit.G)
    return in_grams if unit is Unit.G else f"{spell(grams, unit)} ({in_grams})"
