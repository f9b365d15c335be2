"""Checksums of frames: made from bytes, written as the description says."""

from __future__ import annotations

from functools import reduce
from operator import xor
from typing import TYPE_CHECKING

from scaled.core.wording import quoted

if TYPE_CHECKING:
    from drivers.described.model import Checksum, Frame


def checksum_of(data: bytes, checksum: Checksum) -> bytes:
    """The checksum of these bytes as it is sent, hex in capitals."""
    total = reduce(xor, data, 0) if checksum.kind == "xor" else sum(data)
    if checksum.kind == "negated-sum":
        total = -total
    total %= checksum.modulo
    if checksum.written == "byte":
        return bytes([total & 0xFF])
    written = f"{total:X}" if checksum.written == "hex" else str(total)
    return written.zfill(checksum.digits)[-checksum.digits :].encode()


class FrameCheck:
    """Tells whether frames of one description arrived whole, by their checksum."""

    def __init__(self, frame: Frame) -> None:
        """Check as the description says; without a checksum every frame is whole."""
        self._checksum = frame.checksum
        self._start = (frame.start or "").encode("latin-1")
        self._end = (frame.end or "").encode("latin-1")
        self.size = frame.checksum.size if frame.checksum else 0

    def holds(self, fields: bytes, check: bytes) -> bool:
        """Whether ``check``, in which hex may have small letters, belongs to ``fields``."""
        checksum = self._checksum
        if checksum is None:
            return True
        expected = self._expected(fields, checksum)
        return check == expected or (checksum.written == "hex" and check.upper() == expected)

    def refusal(self, fields: bytes, check: bytes) -> str:
        """Why it does not hold."""
        expected = self._expected(fields, self._checksum) if self._checksum else b""
        said, made = (quoted(part.decode("latin-1")) for part in (check, expected))
        return f"its checksum is {said}, its bytes make {made}"

    def _expected(self, fields: bytes, checksum: Checksum) -> bytes:
        parts = {"start": self._start, "fields": fields, "end": self._end}
        return checksum_of(
            b"".join(parts[part] for part in parts if part in checksum.over), checksum
        )
