"""A number as it is written, padding and sign included."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

_NUMBER: Final = re.compile(r"( *)([+-]?)( *)([0-9]+(?:([.,])[0-9]*)?)([+-]?)( *)")


@dataclass(frozen=True, slots=True)
class Written:
    """One number as it is written: its value but for places that are only understood."""

    value: float
    point: str
    decimals: int
    digits: int


def written_in(text: str) -> Written | None:
    """The number of which this text is all, with padding and a sign."""
    found = _NUMBER.fullmatch(text)
    if found is None or (found[2] and found[5] is None and found[6] and found[6] in "+-"):
        return None
    digits = found[4].replace(",", ".")
    value = float(digits)
    whole, _, decimals = digits.partition(".")
    negative = "-" in (found[2], found[6])
    size = len(whole) + len(decimals)
    return Written(-value if negative else value, found[5] or "", len(decimals), size)
