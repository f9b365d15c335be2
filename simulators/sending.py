"""The scale's end of a line for formats that differ only in how a reading is written."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import TypeAlias

from simulators.display import Shown

Write: TypeAlias = Callable[[Shown], bytes]
"""Writes one reading as it is sent."""


class Unasked:
    """Sends every reading at once and does not listen."""

    def __init__(self, write: Write) -> None:
        self._write = write

    def show(self, shown: Shown) -> bytes:
        """The frame of one reading."""
        return self._write(shown)

    def answer(self, data: bytes) -> bytes:
        """Nothing."""
        del data
        return b""


class Asked:
    """Sends its newest reading each time one certain byte comes; others mean nothing to it."""

    def __init__(self, request: bytes, write: Write) -> None:
        self._request = request
        self._write = write
        self._newest: Shown | None = None

    def show(self, shown: Shown) -> bytes:
        """Keep the newest reading; nothing is sent unasked."""
        self._newest = shown
        return b""

    def answer(self, data: bytes) -> bytes:
        """A frame for each request; none before the first reading."""
        if self._newest is None:
            return b""
        return self._write(self._newest) * data.count(self._request)


def fits(weight: Decimal, width: int) -> bool:
    """Whether the number, with a sign if it is negative, fits in so many columns."""
    return len(f"{weight:f}") <= width
