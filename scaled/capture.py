r"""Captures: the bytes a scale sent, with their times, as text that can be read and compared.

::

    # format: ascii-stream
    # provenance: what kind of scale, who captured it, when and how
    0.000 ST,GR,+00123.50  g\r\n
    0.104 ST,GR,+00123.50

A line is one piece as it arrived: seconds, one space, and the bytes, those that are not printable
ASCII, and the backslash, escaped as in Python; a space at either end is ``\x20``. Lines starting
with ``#`` carry ``key: value`` notes.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from scaled.core.errors import RecordingError
from scaled.core.wording import quoted

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping
    from pathlib import Path

_LARGEST: Final = 64 * 1024 * 1024
"""Bytes in the largest capture read; a day of a fast scale has half of it."""

_LINE: Final = re.compile(r"([0-9]{1,9}(?:\.[0-9]{1,9})?) (.*)")
_ESCAPE: Final = re.compile(r"\\(x[0-9a-fA-F]{2}|[rnt\\])|([ -\[\]-~])")
_NAMED: Final = {"r": "\r", "n": "\n", "t": "\t", "\\": "\\"}
_NAMES: Final = {ord(char): f"\\{name}" for name, char in _NAMED.items()}


@dataclass(frozen=True, slots=True)
class Chunk:
    """Bytes that arrived together at ``t`` seconds."""

    t: float
    data: bytes


@dataclass(frozen=True, slots=True)
class Capture:
    """One capture, whole.

    Attributes:
        chunks: What arrived, oldest first.
        notes: The ``# key: value`` lines; of two with one key the later counts.
    """

    chunks: tuple[Chunk, ...]
    notes: Mapping[str, str] = field(default_factory=dict)


def chunk_line(chunk: Chunk) -> str:
    """One piece as a line, its end included."""
    text = "".join(map(_escaped, chunk.data))
    if text.startswith(" "):
        text = f"\\x20{text[1:]}"
    if text.endswith(" "):
        text = f"{text[:-1]}\\x20"
    return f"{chunk.t:.3f} {text}\n"


def note_line(key: str, value: str) -> str:
    """One note as a line, its end included."""
    return f"# {key}: {' '.join(value.split())}\n"


def capture_text(capture: Capture) -> str:
    """A capture as a file's text, which reads back the same to the millisecond."""
    notes = [note_line(key, value) for key, value in capture.notes.items()]
    return "".join([*notes, *map(chunk_line, capture.chunks)])


def read_capture(path: Path) -> Capture:
    """Read a capture from a file.

    Raises:
        RecordingError: It cannot be read or breaks the form; names file, line and reason.
    """
    try:
        with path.open("rb") as file:
            data = file.read(_LARGEST + 1)
        if len(data) > _LARGEST:
            raise RecordingError(str(path), "", f"no capture: longer than {_LARGEST} bytes")
        return parse_capture(data.decode("utf-8"), str(path))
    except OSError as err:
        raise RecordingError(str(path), "", f"cannot be read: {err.strerror}") from err
    except UnicodeDecodeError as err:
        raise RecordingError(str(path), "", "no capture: not text") from err


def parse_capture(text: str, where: str) -> Capture:
    """Read a capture's text that came from ``where``.

    Raises:
        RecordingError: It breaks the form; names place, line and reason.
    """
    notes: dict[str, str] = {}
    chunks: list[Chunk] = []
    for number, line in enumerate(text.split("\n"), 1):
        if line.startswith("#"):
            key, _, value = line[1:].partition(":")
            notes[key.strip()] = value.strip()
        elif line.strip():
            chunk = _chunk(line, where, number)
            if chunks and chunk.t < chunks[-1].t:
                raise RecordingError(where, f"line {number}", "the time runs backwards")
            chunks.append(chunk)
    if not chunks:
        raise RecordingError(where, "", "no capture: nothing in it was sent by a scale")
    return Capture(tuple(chunks), notes)


def _chunk(line: str, where: str, number: int) -> Chunk:
    written = _LINE.fullmatch(line.rstrip("\r"))
    if written is None:
        such = r"write one such as 0.104 ST,GR,+00123.50  g\r\n"
        raise RecordingError(where, f"line {number}", f"{quoted(line)} is no piece; {such}")
    try:
        data = "".join(_unescaped(written[2])).encode("latin-1")
    except ValueError as err:
        raise RecordingError(where, f"line {number}", str(err)) from err
    return Chunk(float(written[1]), data)


def _escaped(byte: int) -> str:
    if byte in _NAMES:
        return _NAMES[byte]
    return chr(byte) if 0x20 <= byte < 0x7F else f"\\x{byte:02x}"


def _unescaped(text: str) -> Iterator[str]:
    at = 0
    while at < len(text):
        part = _ESCAPE.match(text, at)
        if part is None:
            raise ValueError(f"{quoted(text[at : at + 4])}: escape it as \\xNN")
        escape, plain = part.groups()
        if plain:
            yield plain
        else:
            yield _NAMED.get(escape) or chr(int(escape[1:], 16))
        at = part.end()


def all_bytes(chunks: Iterable[Chunk]) -> bytes:
    """The stream, whatever its pieces."""
    return b"".join(chunk.data for chunk in chunks)
