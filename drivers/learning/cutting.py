"""How a stream may be cut into frames: the ways that fit its bytes, the likeliest first."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Any, Final

from drivers.described.model import LONGEST_FRAME

if TYPE_CHECKING:
    from collections.abc import Iterator

FEWEST: Final = 12
"""Frames that a lesson must hold, or there is nothing to compare; two seconds of any scale."""

_STARTS: Final = b"\x02\x01\x0b\x1b[({<#$!*:@=&%"
_ENDS: Final = b"\x03\x04\x17])}>;\x00=\x0a\x0d"
"""What begins or ends frames: control characters made for it, brackets, marks."""

_REGULAR: Final = 0.8
"""Share of the gaps between starts that must be alike; a checksum may look like a start."""


@dataclass(frozen=True, slots=True)
class Cut:
    """One frame: what is in it, what came after its end, and where it ended in the stream."""

    body: bytes
    after: bytes
    ends_at: int


@dataclass(frozen=True, slots=True)
class Framing:
    """One way to cut a stream.

    Attributes:
        start: The byte that begins a frame, b"" for none.
        end: What ends it, b"" for a length.
        length: Bytes in all, 0 when an end tells.
        by_line: CR and LF in any order end it.
        cuts: The frames, oldest first.
    """

    start: bytes
    end: bytes
    length: int
    by_line: bool
    cuts: list[Cut]

    def table(self) -> dict[str, Any]:
        """What a description says of it."""
        said: dict[str, Any] = {}
        if self.start:
            said["start"] = self.start.decode("latin-1")
        if self.length:
            said["length"] = self.length
        elif not self.by_line:
            said["end"] = self.end.decode("latin-1")
        return said


def framings(data: bytes) -> Iterator[Framing]:
    """The ways to cut these bytes that give enough frames, the likeliest first."""
    for framing in (*_marked(data), *_lines(data), *_ended(data), *_measured(data)):
        if len(framing.cuts) >= FEWEST:
            yield framing


def _marked(data: bytes) -> Iterator[Framing]:
    """Between a start and an end; what stands between frames but for CR and LF may be a check."""
    for start in _likely(data, _STARTS):
        for end in _likely(data, _ENDS):
            # Where a mark is text as well, it would cut frames into pieces.
            if start == end or not _take_turns(data, start, end):
                continue
            frame = b"%b([^%b]{1,%d}?)%b" % (
                re.escape(start), re.escape(start), LONGEST_FRAME, re.escape(end),
            )  # fmt: skip
            found = list(re.finditer(frame, data))
            size = _size_after(data, found)
            cuts = [
                Cut(m[1], data[m.end() : m.end() + size], m.end())
                for m in found
                if m.end() + size <= len(data)
            ]
            yield Framing(start, end, 0, end in b"\r\n", cuts)


def _likely(data: bytes, marks: bytes) -> list[bytes]:
    return [bytes([mark]) for mark in marks if data.count(mark) >= FEWEST]


def _take_turns(data: bytes, start: bytes, end: bytes) -> bool:
    starts, ends = data.count(start), data.count(end)
    return _REGULAR < starts / ends < 1 / _REGULAR


def _size_after(data: bytes, found: list[re.Match[bytes]]) -> int:
    """Bytes of a check after the end: those that are always there, but for CR and LF after it."""
    gaps = [data[a.end() : b.start()] for a, b in pairwise(found)]
    if not gaps:
        return 0
    size, count = Counter(map(len, gaps)).most_common(1)[0]
    if count < _REGULAR * len(gaps):
        return 0
    usual = [gap for gap in gaps if len(gap) == size]
    while size and all(gap[size - 1 : size] in (b"\r", b"\n") for gap in usual):
        size -= 1
    return size if size <= 5 else 0


def _lines(data: bytes) -> Iterator[Framing]:
    """Lines; the first may have begun before anybody listened."""
    found = list(re.finditer(rb"[^\r\n]+(?=[\r\n])", data))[1:]
    lines = [Cut(m[0], b"", m.end()) for m in found if m[0].strip(b" \x00")]
    if not lines:
        return
    first = lines[-1].body[:1]
    if first in _STARTS and all(cut.body.count(first) == 1 for cut in lines[-FEWEST:]):
        begun = [cut for cut in lines if cut.body[:1] == first]
        inner = [Cut(cut.body[1:], b"", cut.ends_at) for cut in begun]
        yield Framing(first, b"\r", 0, True, inner)
    yield Framing(b"", b"\r", 0, True, lines)


def _ended(data: bytes) -> Iterator[Framing]:
    """Up to an end that is no line's."""
    for end in _likely(data, _ENDS.rstrip(b"\r\n")):
        found = list(re.finditer(b"[^%b]+(?=%b)" % (re.escape(end), re.escape(end)), data))[1:]
        yield Framing(b"", end, 0, False, [Cut(m[0], b"", m.end()) for m in found])


def _measured(data: bytes) -> Iterator[Framing]:
    """So many bytes from a start."""
    for start in _likely(data, _STARTS):
        at = [m.start() for m in re.finditer(re.escape(start), data)]
        gaps = Counter(b - a for a, b in pairwise(at))
        length, count = gaps.most_common(1)[0]
        if not 2 < length <= LONGEST_FRAME or count < _REGULAR * (len(at) - 1):
            continue
        frame = b"(?s:%b(?=(.{%d})))" % (re.escape(start), length - 1)
        cuts, free = [], 0
        for m in re.finditer(frame, data):
            end = m.start() + length
            if m.start() >= free and data[end : end + 1] in (start, b""):
                cuts.append(Cut(m[1], b"", end))
                free = end
        yield Framing(start, b"", length, False, cuts)
