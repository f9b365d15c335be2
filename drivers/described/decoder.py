"""Makes a decoder of a description: one regular expression, compiled once, and its meaning."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from drivers.described.framing import cutter_for
from drivers.described.parser import Parser
from drivers.described.refusal import why_refused

if TYPE_CHECKING:
    from collections.abc import Callable

    from drivers.described.model import ScaleFormat
    from scaled.protocol import Frame


def decoder_maker(description: ScaleFormat) -> Callable[[], FormatDecoder]:
    """What makes a fresh decoder for each link; the description is compiled here, once."""
    return partial(FormatDecoder, description, Parser(description))


class FormatDecoder:
    """Decodes a described format; see :class:`scaled.protocol.Decoder`."""

    def __init__(self, description: ScaleFormat, parser: Parser) -> None:
        """Decode with the compiled ``parser`` of the same description."""
        self._description = description
        self._cutter = cutter_for(description.frame)
        self._parser = parser
        self._senseless = 0
        self._refused: bytes | None = None

    @property
    def dropped(self) -> int:
        """Frames thrown away so far because they made no sense."""
        return self._senseless + self._cutter.dropped

    @property
    def refusal(self) -> str:
        """Why the last frame that was dropped makes no sense; "" before any was."""
        if self._refused is None:
            return self._cutter.refusal
        return why_refused(self._description, self._refused)

    def feed(self, data: bytes, t: float) -> list[Frame]:
        """Frames completed by these bytes, oldest first, all stamped ``t``."""
        frames = []
        cut_before = self._cutter.dropped
        for fields in self._cutter.feed(data):
            frame = self._parser.parse(fields, t)
            if frame is None:
                self._senseless += 1
                self._refused = fields
            else:
                frames.append(frame)
        if self._cutter.dropped > cut_before:
            self._refused = None
        return frames
