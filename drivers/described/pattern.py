"""One regular expression for all fields of a frame."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from drivers.described.field import (
    BitsField,
    GapField,
    PlacesField,
    SkipField,
    StatusField,
    TextField,
    UnitField,
    WeightField,
)
from drivers.described.number import Number

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from drivers.described.field import Part
    from drivers.described.model import ScaleFormat

_REFUSALS: Final = {"overload", "underload"}


def frame_pattern(description: ScaleFormat) -> str:
    """A regular expression of what stands between start and end.

    Groups: ``weight``; ``unit`` and ``places`` where there are such fields; ``part0`` for a
    status that is the first field; ``tail``, empty, when the frame is there to its last field.
    A frame of a scale that shows no weight may end after its status, or after what stands in
    the number's place.
    """
    fields = description.fields
    free = description.frame.spaces == "free"
    parts = [_part(at, fields, free=free) for at in range(len(fields))]
    at = next(at for at, field in enumerate(fields) if field.kind == "weight")
    told = [i for i, field in enumerate(fields[:at]) if _may_refuse(field)]
    refusing = any(map(_may_refuse, fields))
    tail = f"(?:{''.join(parts[at + 1 :])}(?P<tail>))" + ("?" if refusing else "")
    short = bool(told) and not _may_refuse(fields[at])
    cut = told[-1] + 1 if short else at
    middle = "".join(parts[cut : at + 1]) + tail
    if short:
        middle = f"(?:{middle})?"
    around = " *" if free else ""
    return around + "".join(parts[:cut]) + middle + around


def _may_refuse(field: Part) -> bool:
    match field:
        case WeightField():
            return bool(field.words)
        case StatusField():
            return bool(_REFUSALS.intersection(field.words.values()))
        case BitsField():
            return bool(_REFUSALS.intersection(field.bits.values()))
        case _:
            return False


def _part(at: int, fields: Sequence[Part], *, free: bool) -> str:
    match field := fields[at]:
        case StatusField():
            return f"(?P<part{at}>{_any_of(field.words)})"
        case BitsField():
            return f"(?P<part{at}>.)"
        case WeightField():
            return f"(?P<weight>{Number(field).pattern})"
        case PlacesField():
            return "(?P<places>[0-9])"
        case UnitField():
            return f"(?P<unit>{_units(field)})"
        case _:
            return _between(field, fields[at + 1 :], free=free)


def _between(field: TextField | GapField | SkipField, after: Sequence[Part], *, free: bool) -> str:
    """What says nothing: a text, spaces, or bytes up to the text that comes ``after``."""
    match field, after:
        case TextField(), _:
            text = re.escape(field.text)
            return f" *{text} *" if free else text
        case GapField(), _:
            return " +" if free and not field.width else f" {{{field.width or 1}}}"
        case SkipField(width=None), [TextField() as stop, *_]:
            return f"[^{re.escape(stop.text[0])}]*"
        case _:
            return f".{{{field.width}}}"


def _any_of(words: Iterable[str]) -> str:
    return "|".join(map(re.escape, sorted(words, key=len, reverse=True)))


def _units(field: UnitField) -> str:
    words = list(field.words) or ["kg", "g", "oz", "lb"]
    if field.width:
        put = str.rjust if field.align == "right" else str.ljust
        words = [put(word, field.width) for word in words]
    return _any_of(words) if field.words else f"(?i:{_any_of(words)})"
