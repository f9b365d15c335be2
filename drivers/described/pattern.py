"""One regular expression for all fields of a frame.

Spaces that need not be there are taken whole and never given back, wherever what follows cannot
begin with one: no frame, however odd, takes more than its length's time to be refused.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final, NamedTuple

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

_REFUSALS: Final = {"overload", "underload", "fault"}


class _Piece(NamedTuple):
    """What one field looks like.

    Attributes:
        pattern: Its regular expression; for spaces alone, "".
        least: Spaces there must at least be before it; None where there may be none at all.
        roomy: Whether it may itself begin with a space.
        open: Whether spaces may follow it.
    """

    pattern: str
    least: int | None = None
    roomy: bool = False
    open: bool = False


def frame_pattern(description: ScaleFormat) -> str:
    """A regular expression of what stands between start and end.

    Groups: ``weight``; ``unit`` and ``places`` where there are such fields; ``part0`` for a
    status that is the first field; ``tail``, empty, when the frame is there to its last field.
    A frame of a scale that shows no weight may end after its status, or after what stands in
    the number's place.
    """
    fields = description.fields
    free = description.frame.spaces == "free"
    pieces = [_piece(at, fields, free=free) for at in range(len(fields))]
    at = next(at for at, field in enumerate(fields) if field.kind == "weight")
    told = [i for i, field in enumerate(fields[:at]) if _may_refuse(field)]
    refusing = any(map(_may_refuse, fields))
    tail = f"(?:{_joined(pieces[at + 1 :])}(?P<tail>))" + ("?" if refusing else "")
    short = bool(told) and not _may_refuse(fields[at])
    cut = told[-1] + 1 if short else at
    middle = _joined(pieces[cut : at + 1]) + tail
    if short:
        middle = f"(?:{middle})?"
    around = " *" if free else ""
    return around + _joined(pieces[:cut]) + middle + around


def beginning_pattern(description: ScaleFormat, count: int) -> str:
    """A regular expression of the first so many fields alone."""
    free = description.frame.spaces == "free"
    pieces = [_piece(at, description.fields, free=free) for at in range(count)]
    return (" *" if free else "") + _joined(pieces)


def _joined(pieces: Sequence[_Piece]) -> str:
    """The pieces one after the other, the spaces between two of them in one place."""
    text, least = "", None
    for piece in pieces:
        if piece.least is not None:
            least = piece.least + (least or 0)
        if piece.pattern:
            text += _spaces(least, kept=not piece.roomy) + piece.pattern
            least = 0 if piece.open else None
    return text + _spaces(least, kept=False)


def _spaces(least: int | None, *, kept: bool) -> str:
    return "" if least is None else f" {{{least},}}{'+' if kept else ''}"


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


def _piece(at: int, fields: Sequence[Part], *, free: bool) -> _Piece:
    match field := fields[at]:
        case StatusField():
            words = f"(?P<part{at}>{_any_of(field.words)})"
            return _Piece(words, roomy=any(word.startswith(" ") for word in field.words))
        case BitsField():
            return _Piece(f"(?P<part{at}>.)", roomy=True)
        case WeightField():
            return _Piece(f"(?P<weight>{Number(field).pattern})", roomy=True)
        case PlacesField():
            return _Piece("(?P<places>[0-9])")
        case UnitField():
            return _Piece(f"(?P<unit>{_units(field)})", roomy=True)
        case _:
            return _between(field, fields[at + 1 :], free=free)


def _between(
    field: TextField | GapField | SkipField, after: Sequence[Part], *, free: bool
) -> _Piece:
    """What says nothing: a text, spaces, or bytes up to the text that comes ``after``."""
    match field, after:
        case TextField(), _:
            text = re.escape(field.text)
            return _Piece(text, least=0, open=True) if free else _Piece(text)
        case GapField(width=None), _ if free:
            return _Piece("", least=1)
        case SkipField(width=None), [TextField() as stop, *_]:
            return _Piece(f"[^{re.escape(stop.text[0])}]*+")
        case GapField(), _:
            return _Piece(f" {{{field.width or 1}}}", roomy=True)
        case _:
            return _Piece(f".{{{field.width}}}", roomy=True)


def _any_of(words: Iterable[str]) -> str:
    return "|".join(map(re.escape, sorted(words, key=len, reverse=True)))


def _units(field: UnitField) -> str:
    words = list(field.words) or ["kg", "g", "oz", "lb"]
    if field.width:
        put = str.rjust if field.align == "right" else str.ljust
        words = [put(word, field.width) for word in words]
    return _any_of(words) if field.words else f"(?i:{_any_of(words)})"
