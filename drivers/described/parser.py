"""The fields of a frame, compiled: bytes between start and end to a reading or a notice."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from drivers.described.field import BitsField, StatusField, UnitField
from drivers.described.number import Number
from drivers.described.pattern import frame_pattern
from drivers.plausible import is_plausible
from scaled.core.reading import Reading, Unit
from scaled.protocol import Notice, NoticeKind

if TYPE_CHECKING:
    from collections.abc import Iterator

    from drivers.described.model import ScaleFormat
    from scaled.protocol import Frame

_REFUSALS: Final = frozenset({"overload", "underload", "fault"})
_OPPOSITE: Final = {"stable": "unstable", "unstable": "stable"}


class Parser:
    """What frames of one description say."""

    def __init__(self, description: ScaleFormat) -> None:
        """Compile a description."""
        self._pattern = re.compile(frame_pattern(description), re.DOTALL)
        self._number = Number(next(f for f in description.fields if f.kind == "weight"))
        self._statuses = {
            f"part{at}": field
            for at, field in enumerate(description.fields)
            if isinstance(field, StatusField | BitsField)
        }
        unit = next((f for f in description.fields if isinstance(f, UnitField)), None)
        words = unit.words if unit else {}
        self._units = {
            word.strip(" "): None if name == "none" else Unit(name) for word, name in words.items()
        }

    def parse(self, fields: bytes, t: float) -> Frame | None:
        """What a frame says at ``t``; None when it makes no sense."""
        found = self._pattern.fullmatch(fields.decode("latin-1"))
        if found is None:
            return None
        said = set(self._said(found))
        shown = found["weight"]
        weight = shown and self._number.read(shown, found.groupdict().get("places"))
        if isinstance(weight, str):
            return _notice(said | {weight}, t)
        if said & _REFUSALS:
            # Where words stand for the number, a number says that the status is damaged.
            return None if weight is not None and self._number.words else _notice(said, t)
        if weight is None or found["tail"] is None:
            return None
        return _reading(t, weight, self._unit(found), said)

    def _said(self, found: re.Match[str]) -> Iterator[str]:
        for name, field in self._statuses.items():
            text = found[name]
            if text is None:
                continue
            if isinstance(field, StatusField):
                yield field.words[text]
                continue
            for bit, meaning in field.bits.items():
                if ord(text) >> int(bit) & 1:
                    yield meaning
                elif meaning in _OPPOSITE:
                    yield _OPPOSITE[meaning]

    def _unit(self, found: re.Match[str]) -> Unit | None:
        word = found.groupdict().get("unit")
        if word is None:
            return self._number.unit
        word = word.strip(" ")
        return self._units[word] if self._units else Unit(word.lower())


def _reading(t: float, weight: float, unit: Unit | None, said: set[str]) -> Reading | None:
    if not is_plausible(weight, unit):
        return None
    # Adding 0.0 turns "-0.0" into plain zero.
    return Reading(t, (-weight if "negative" in said else weight) + 0.0, unit, _stable(said))


def _stable(said: set[str]) -> bool | None:
    if "unstable" in said:
        return False
    return True if "stable" in said else None


def _notice(said: set[str], t: float) -> Notice | None:
    kinds = [kind for kind in NoticeKind if kind.value in said]
    return Notice(t, kinds[0]) if len(kinds) == 1 else None
