"""Line formats: bytes cut into lines, lines turned into frames, the rest counted and dropped."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from scaled.core.reading import Unit
from scaled.protocol import Frame

LONGEST_LINE: Final = 64
"""Bytes in the longest line looked at; more than twice what any format here needs."""

UNITS: Final = {unit.value.encode(): unit for unit in Unit}
"""Units by their lower-case spelling on the wire."""


class LineDecoder:
    """Decodes a format that says one thing a line.

    A line ends with CR, LF or both; blank lines mean nothing. A line that is too long or that
    ``parse`` makes nothing of is dropped and counted, and so is the tail of a line that began
    before the link was opened.
    """

    def __init__(self, parse: Callable[[bytes, float], Frame | None]) -> None:
        """Decode with ``parse``: a line without its end, and its time, to a frame or None."""
        self.dropped = 0
        self._parse = parse
        self._rest = b""

    def feed(self, data: bytes, t: float) -> list[Frame]:
        """Frames completed by these bytes, oldest first, all stamped ``t``."""
        *lines, rest = (self._rest + data).replace(b"\r", b"\n").split(b"\n")
        # One byte too many is enough to know a line as too long when its end comes.
        self._rest = rest[: LONGEST_LINE + 1]
        frames = []
        for line in filter(None, lines):
            frame = self._parse(line, t) if len(line) <= LONGEST_LINE else None
            if frame is None:
                self.dropped += 1
            else:
                frames.append(frame)
        return frames
