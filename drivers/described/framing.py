"""Cuts a stream of bytes into the frames of a description; what is between them is counted.

A cutter's ``feed`` gives what stands between start and end, the checksum left out, of the frames
that the bytes complete; how a stream is cut into calls makes no difference, and the memory kept
between calls is bounded.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final, Protocol

from drivers.described.checksum import FrameCheck
from scaled.core.wording import quoted

if TYPE_CHECKING:
    from drivers.described.model import Frame

_BLANK: Final = b"\r\n \x00"
"""Bytes that may stand between frames without being counted."""
_NO_FRAME: Final = "it lacks its start or its end, or is too long"


class Cutter(Protocol):
    """Cuts one stream."""

    dropped: int
    """How often so far there was something that is no frame."""
    refusal: str
    """Why the last such thing is none; "" before any."""

    def feed(self, data: bytes) -> list[bytes]:
        """The fields of the frames these bytes complete, oldest first."""
        ...


def cutter_for(frame: Frame) -> Cutter:
    """A fresh cutter."""
    if frame.by_line or frame.start is None:
        return LineCutter(frame)
    return MarkCutter(frame)


class LineCutter:
    """Cuts at every CR and LF, or at another byte that ends frames; blank lines mean nothing.

    Each line that is too long, in which the start is missing or the checksum is wrong, is dropped,
    and so is what stands before the last start in a line.
    """

    def __init__(self, frame: Frame) -> None:
        self.dropped = 0
        self.refusal = ""
        ends = "\r\n" if frame.by_line else frame.end or ""
        self._end = ends[0].encode("latin-1")
        self._others = [end.encode("latin-1") for end in ends[1:]]
        self._longest = frame.longest
        self._start = (frame.start or "").encode("latin-1")
        self._check = FrameCheck(frame)
        self._rest = b""

    def feed(self, data: bytes) -> list[bytes]:
        """The fields of the frames these bytes complete, oldest first."""
        text = self._rest + data
        for other in self._others:
            text = text.replace(other, self._end)
        *lines, rest = text.split(self._end)
        # One byte too many is enough to know a line as too long when its end comes.
        self._rest = rest[: self._longest + 1]
        cuts = [self._cut(line) for line in lines if line]
        return [fields for fields in cuts if fields is not None]

    def _cut(self, line: bytes) -> bytes | None:
        before, start, rest = line.rpartition(self._start) if self._start else (b"", b"", line)
        split = max(len(rest) - self._check.size, 0)
        fields, check = rest[:split], rest[split:]
        if start != self._start:
            self._drop(line, "it has no start")
        elif len(line) > self._longest:
            self._drop(line, f"it is longer than {self._longest} bytes")
        elif not self._check.holds(fields, check):
            self._drop(line, self._check.refusal(fields, check))
        else:
            if before.strip(_BLANK):
                self._drop(before, _NO_FRAME)
            return fields
        return None

    def _drop(self, what: bytes, why: str) -> None:
        self.dropped += 1
        self.refusal = _refusal(what, why)


class MarkCutter:
    """Cuts from a start to an end, or so many bytes from a start.

    Bytes that belong to no frame are counted once a run. A start within a frame begins anew, and
    so does one among the bytes of a frame whose checksum is wrong.
    """

    def __init__(self, frame: Frame) -> None:
        self.dropped = 0
        self.refusal = ""
        self._check = FrameCheck(frame)
        self._whole, self._begun = _patterns(frame)
        self._rest = b""
        self._astray = False

    def feed(self, data: bytes) -> list[bytes]:
        """The fields of the frames these bytes complete, oldest first."""
        text = self._rest + data
        at = 0
        cuts = []
        while found := self._whole.search(text, at):
            self._pass_over(text[at : found.start()])
            fields, check = found["fields"], found["check"]
            self._astray = not self._check.holds(fields, check)
            if self._astray:
                self.dropped += 1
                self.refusal = _refusal(found[0], self._check.refusal(fields, check))
            else:
                cuts.append(fields)
            at = found.start() + 1 if self._astray else found.end()
        # It matches the empty end of the text at the latest.
        begun = self._begun.search(text, at)
        keep = begun.start() if begun else len(text)
        self._pass_over(text[at:keep])
        self._rest = text[keep:]
        return cuts

    def _pass_over(self, between: bytes) -> None:
        if not self._astray and between.strip(_BLANK):
            self.dropped += 1
            self.refusal = _refusal(between, _NO_FRAME)
            self._astray = True


def _refusal(what: bytes, why: str) -> str:
    return f"{quoted(what.decode('latin-1'))}: {why}"


def _patterns(frame: Frame) -> tuple[re.Pattern[bytes], re.Pattern[bytes]]:
    """What a whole frame looks like, and the end of a text in which one has begun."""
    start = re.escape((frame.start or "").encode("latin-1"))
    end = re.escape((frame.end or "").encode("latin-1"))
    check = frame.checksum
    size = b"%d" % (check.size if check else 0)
    last = b"(?P<check>(?s:.){%b})" % size
    if frame.length is not None:
        count = b"%d" % max(frame.length - 1 - int(size), 0)
        whole = b"%b(?P<fields>[^%b]{%b})%b" % (start, start, count, last)
        begun = b"%b(?:[^%b]{0,%b}|[^%b]{%b}(?s:.){0,%b})\\Z" % (
            start, start, count, start, count, size,
        )  # fmt: skip
        return re.compile(whole), re.compile(begun)
    byte = b"(?:(?!%b)[^%b])" % (end, start)
    if check is None or check.after_end:
        most = b"%d" % frame.longest
        whole = b"%b(?P<fields>%b{0,%b})%b%b" % (start, byte, most, end, last)
        begun = b"%b(?:%b{0,%b}|%b{0,%b}%b(?s:.){0,%b})\\Z" % (
            start, byte, most, byte, most, end, size,
        )  # fmt: skip
    else:
        most = b"%d" % (frame.longest - check.size)
        whole = b"%b(?P<fields>%b{0,%b})(?P<check>%b{%b})%b" % (
            start, byte, most, byte, size, end,
        )  # fmt: skip
        begun = b"%b%b{0,%d}\\Z" % (start, byte, frame.longest)
    return re.compile(whole), re.compile(begun)
