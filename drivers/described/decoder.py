"""Makes a decoder of a description: one regular expression, compiled once, and its meaning."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from drivers.described.checksum import is_checked
from drivers.described.framing import Cut, cutter_for
from drivers.described.parser import Parser

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
        self._frame = description.frame
        self._cutter = cutter_for(description.frame)
        self._parser = parser
        self._senseless = 0

    @property
    def dropped(self) -> int:
        """Frames thrown away so far because they made no sense."""
        return self._senseless + self._cutter.dropped

    def feed(self, data: bytes, t: float) -> list[Frame]:
        """Frames completed by these bytes, oldest first, all stamped ``t``."""
        frames = []
        for cut in self._cutter.feed(data):
            frame = self._parser.parse(cut.fields, t) if self._is_whole(cut) else None
            if frame is None:
                self._senseless += 1
            else:
                frames.append(frame)
        return frames

    def _is_whole(self, cut: Cut) -> bool:
        checksum = self._frame.checksum
        if checksum is None:
            return True
        parts = {
            "start": (self._frame.start or "").encode("latin-1"),
            "fields": cut.fields,
            "end": (self._frame.end or "").encode("latin-1"),
        }
        covered = b"".join(parts[part] for part in parts if part in checksum.over)
        return is_checked(covered, cut.check, checksum)
