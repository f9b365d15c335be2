"""The weight field: what it looks like in a frame, and the number it shows."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from scaled.core.reading import Unit

if TYPE_CHECKING:
    from drivers.described.field import WeightField

_MARKS: Final = {
    "+": {"must": "[+-]", "may": "[+-]"},
    " ": {"must": "[ -]", "may": "-?"},
    "either": {"must": "[+ -]", "may": "[+-]?"},
}
"""Signs by ``plus``: in a place that is always filled, and in one that may be missing."""


class Number:
    """Reads the weight field of one description.

    Attributes:
        words: What may stand in the number's place, without its padding, with its meaning.
        unit: The unit where no field says it.
        pattern: A regular expression of all that may stand in the field.
    """

    def __init__(self, field: WeightField) -> None:
        """Compile a weight field."""
        self.words = {word.strip(" "): meaning for word, meaning in field.words.items()}
        self.unit = Unit(field.unit) if field.unit else None
        self._places = field.places
        self._in_column = field.sign == "column"
        number = _number(field)
        self._number = re.compile(number)
        self.pattern = f"(?:{'|'.join(_shapes(field, number))})"

    def read(self, text: str, places: str | None) -> float | str | None:
        """The number shown, or the meaning of the word shown in its place, or None.

        Args:
            text: What stands in the field.
            places: The digit of the places field, where there is one.
        """
        found = self._number.fullmatch(text)
        if found is None:
            return self.words.get(text.strip(" ")) or self._without_sign(text)
        digits = found["digits"].replace(",", ".")
        shift = int(places) if places else self._places
        if shift:
            digits = f"{digits}e-{shift}"
        negative = found.groupdict().get("sign") == "-"
        return float(f"-{digits}" if negative else digits)

    def _without_sign(self, text: str) -> str | None:
        return self.words.get(text[1:].strip(" ")) if self._in_column else None


def _number(field: WeightField) -> str:
    """A regular expression of the number with its padding, in groups ``sign``, ``digits``."""
    marks = _MARKS[field.plus]
    digits = f"(?P<digits>{_digits(field)})"
    match field.sign:
        case "column":
            number = f"(?P<sign>{marks['must']}) *{digits}"
        case "leading":
            number = f"(?P<sign>{marks['may']}){digits}"
        case "trailing":
            number = f"{digits}(?P<sign>{marks['must' if field.width else 'may']})"
        case _:
            number = digits
    if field.width is None:
        return number
    return f" *{number}" if field.align == "right" else f"{number} *"


def _digits(field: WeightField) -> str:
    if field.decimal == "none":
        return "[0-9]+" if field.width else "[0-9]{1,9}"
    point = re.escape(field.decimal)
    # Where the width does not tell, a number that ends with its point may have been cut there.
    return f"[0-9]+(?:{point}[0-9]*)?" if field.width else f"[0-9]{{1,8}}(?:{point}[0-9]{{1,7}})?"


def _shapes(field: WeightField, number: str) -> list[str]:
    words = sorted(map(re.escape, field.words), key=len, reverse=True)
    if field.width is None:
        return [re.sub(r"\(\?P<\w+>", "(?:", number), *words]
    legal = "".join(sorted({*" +-0123456789.,", *"".join(field.words)}))
    return [f"[{re.escape(legal)}]{{{field.width}}}", *words]
