"""Recordings: a scale's readings as CSV, read strictly and written so that they round-trip.

::

    # division: 1 g
    t,weight,unit,stable
    0.0,0.0,g,1
    0.1,12.0,g,0

``t`` is in seconds and never runs backwards; ``weight`` is as displayed; ``unit`` is g, kg, oz,
lb or empty: the one before it or, before any, the one that the division is written in;
``stable`` is 1, 0 or empty. A column ``key`` may follow: what a person pressed after
that reading and before the next, ``next``, ``undo``, several with spaces between, or empty.
Columns may stand in any order, further ones are ignored. Lines starting with ``#`` carry
``key: value`` notes; a division of ``learnt`` was found out while weighing, and is to be again.
The notes ``class`` and ``e`` are the accuracy class and the interval on the scale's plate,
``checked`` is what its last check found, as JSON;
``habit`` is what was known of the cook from earlier sessions, as JSON,
``position`` is the scale's in the hand-off, and ``told 1``, ``told 2`` and so on are the events
in which other scales told it of builds, as JSON.
"""

from __future__ import annotations

import csv
import io
import math
import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from pydantic import ValidationError

from scaled.core.command import Command, Next, Undo
from scaled.core.errors import RecordingError
from scaled.core.profile_error import explain
from scaled.core.reading import Reading, Unit
from scaled.core.scale import Scale

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping, Sequence
    from pathlib import Path
COLUMNS: Final = ("t", "weight", "unit", "stable")
KEY: Final = "key"
KEYS: Final[dict[str, Command]] = {"next": Next(), "undo": Undo()}
"""What the keys ask for."""
LEARNT: Final = "learnt"

_PLATE: Final = ("division", "class", "e")
_HEADER: Final = ",".join(COLUMNS)
_NUMBER: Final = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?", re.ASCII)
_STABLE: Final = {"": None, "1": True, "0": False}
_UNITS: Final = {"": None} | {unit.value: unit for unit in Unit}


@dataclass(frozen=True, slots=True)
class Recording:
    """One recording, whole.

    Attributes:
        readings: At least one, oldest first.
        notes: The ``# key: value`` lines; of two with one key the later counts.
        keys: Which of :data:`KEYS` were pressed, in order, after the reading at that place.
        scale: What its notes say of the scale.
        where: Its name, for error lines.
    """

    readings: tuple[Reading, ...]
    notes: dict[str, str]
    keys: dict[int, tuple[str, ...]]
    scale: Scale
    where: str

    @property
    def learnt(self) -> bool:
        """Whether the division was found out while weighing."""
        return self.notes.get("division") == LEARNT


def read_recording(path: Path) -> Recording:
    """Read a recording from its file.

    Raises:
        RecordingError: It cannot be read or breaks the contract; names file, line and reason.
    """
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except UnicodeDecodeError as err:
        raise RecordingError(str(path), "", "not UTF-8 text; save it as UTF-8 CSV") from err
    except FileNotFoundError as err:
        raise RecordingError(str(path), "", "does not exist; check the path") from err
    except IsADirectoryError as err:
        raise RecordingError(str(path), "", "a folder, not a file; name the CSV in it") from err
    except OSError as err:
        raise RecordingError(str(path), "", f"cannot be read: {err.strerror}") from err
    return parse_recording(text, str(path))


def parse_recording(text: str, where: str) -> Recording:
    """Read a recording from its text.

    Args:
        text: The whole file.
        where: Its name, for error lines.

    Raises:
        RecordingError: It breaks the contract; names ``where``, line and reason.
    """
    return _Parser(where).parse(text)


def recording_text(
    readings: Iterable[Reading],
    notes: Mapping[str, str],
    keys: Mapping[int, Sequence[str]] | None = None,
) -> str:
    """A recording as text that reads back as the same readings, notes and keys.

    Args:
        readings: Oldest first.
        notes: Keys without ``:``; white space in keys and values is written as single spaces.
        keys: As in :class:`Recording`; None leaves their column away.
    """
    out = io.StringIO()
    for key, value in notes.items():
        out.write(f"# {_one_line(key)}: {_one_line(value)}\n")
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow(COLUMNS if keys is None else (*COLUMNS, KEY))
    for place, reading in enumerate(readings):
        stable = "" if reading.stable is None else int(reading.stable)
        row = (repr(reading.t), repr(reading.weight), reading.unit or "", stable)
        rows.writerow(row if keys is None else (*row, " ".join(keys.get(place, ()))))
    return out.getvalue()


def _one_line(text: str) -> str:
    return " ".join(text.split())


def _quoted(text: str) -> str:
    return f'"{_one_line(text)[:40]}"'


@dataclass(slots=True)
class _Parser:
    """One pass over one text; ``line`` is where it stands, from 1."""

    where: str
    line: int = 0
    notes: dict[str, str] = field(default_factory=dict)
    keys: dict[int, tuple[str, ...]] = field(default_factory=dict)
    told: dict[str, int] = field(default_factory=dict)
    """The line of each note, of its last one."""

    def parse(self, text: str) -> Recording:
        # StringIO reads "\r\n" and "\r" as "\n", and nothing else as a line end.
        rows = csv.reader(self._data_lines(io.StringIO(text, newline=None)))
        try:
            readings = tuple(self._readings(rows))
        except csv.Error as err:
            raise self._error("", f"not readable as CSV: {err}") from err
        scale = self._scale()
        if not readings:
            raise RecordingError(self.where, "", f"no readings; write some below {_HEADER}")
        return Recording(readings, self.notes, self.keys, scale, self.where)

    def _data_lines(self, lines: Iterable[str]) -> Iterator[str]:
        for self.line, line in enumerate(lines, 1):
            if line.startswith("#"):
                self._note(line)
            elif line.strip():
                yield line

    def _note(self, line: str) -> None:
        key, colon, value = (part.strip() for part in line[1:].partition(":"))
        if not colon:
            return
        self.notes[key], self.told[key] = value, self.line

    def _scale(self) -> Scale:
        plate = {key: self.notes[key] for key in _PLATE if self.notes.get(key, LEARNT) != LEARNT}
        try:
            return Scale.model_validate(plate)
        except ValidationError as err:
            key, reason = explain(err, plate, {(): Scale})
            self.line = self.told.get(key, 1)
            raise self._error(key, reason) from err

    def _readings(self, rows: Iterator[list[str]]) -> Iterator[Reading]:
        header = next(rows, None)
        if header is None:
            raise RecordingError(self.where, "", f"empty; the first line must be {_HEADER}")
        places = self._places([name.strip() for name in header])
        last_t = -math.inf
        for count, row in enumerate(rows):
            if len(row) <= max(places):
                raise self._error("", f"{len(row)} values where the header has {len(header)}")
            t, weight, unit, stable, *pressed = (row[place].strip() for place in places)
            reading = self._reading(t, weight, unit, stable)
            if reading.t < last_t:
                raise self._error("t", f"time runs backwards, from {last_t} to {reading.t}")
            last_t = reading.t
            if any(pressed):
                self.keys[count] = self._pressed(*pressed)
            yield reading

    def _places(self, header: list[str]) -> list[int]:
        wanted = (*COLUMNS, KEY) if KEY in header else COLUMNS
        for name in wanted:
            if header.count(name) != 1:
                found = "is twice" if name in header else "is not"
                raise self._error("", f"the column {name} {found} in the header; need {_HEADER}")
        return [header.index(name) for name in wanted]

    def _pressed(self, text: str) -> tuple[str, ...]:
        words = tuple(text.split())
        if not KEYS.keys() >= set(words):
            raise self._error(KEY, f"{_quoted(text)} is not {', '.join(KEYS)} or empty")
        return words

    def _reading(self, t: str, weight: str, unit: str, stable: str) -> Reading:
        if unit not in _UNITS:
            raise self._error(
                "unit", f"unknown unit {_quoted(unit)}; write g, kg, oz, lb or nothing"
            )
        if stable not in _STABLE:
            raise self._error("stable", f"{_quoted(stable)} is not 1, 0 or empty")
        return Reading(
            self._number("t", t), self._number("weight", weight), _UNITS[unit], _STABLE[stable]
        )

    def _number(self, column: str, text: str) -> float:
        number = float(text) if _NUMBER.fullmatch(text) else math.nan
        if not math.isfinite(number):
            raise self._error(column, f"{_quoted(text)} is not a number")
        return number

    def _error(self, column: str, reason: str) -> RecordingError:
        place = f"line {self.line}, {column}" if column else f"line {self.line}"
        return RecordingError(self.where, place, reason)
