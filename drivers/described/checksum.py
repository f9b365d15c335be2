"""Checksums of frames: made from bytes, written as the description says."""

from __future__ import annotations

from functools import reduce
from operator import xor
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from drivers.described.model import Checksum


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


def is_checked(data: bytes, check: bytes, checksum: Checksum) -> bool:
    """Whether ``check``, in which hex may have small letters, is the checksum of ``data``."""
    expected = checksum_of(data, checksum)
    return check == expected or (checksum.written == "hex" and check.upper() == expected)
