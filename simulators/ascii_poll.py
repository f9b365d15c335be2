r"""ASCII request and response, from the scale's side.

The host sends ``R`` and CR LF; the answer is one line, for example ``WS     123.5 g``:

======  =====================================================================
1       ``W``
2       ``S`` stable, ``M`` in motion, ``H`` too heavy, ``L`` below zero range
3       space
4-12    number, right-aligned, ``-`` before it when negative
13      space
14-     unit: g, kg, oz, lb
======  =====================================================================

A too heavy answer ends after the letter. Any other request is answered ``E1``.
"""

from __future__ import annotations

from typing import Final

from simulators.display import Shown, Span

_WIDTH: Final = 9
_LONGEST_REQUEST: Final = 64
"""Bytes of a request kept while its end is awaited; many times the longest there is."""
_UNKNOWN: Final = b"E1\r\n"


class AsciiPoll:
    """The scale's end of such a line."""

    def __init__(self) -> None:
        self._newest: Shown | None = None
        self._begun = b""

    def show(self, shown: Shown) -> bytes:
        """Keep the newest reading; nothing is sent unasked."""
        self._newest = shown
        return b""

    def answer(self, data: bytes) -> bytes:
        """One line for each request these bytes complete, in order.

        A request before the first reading stays unanswered: the scale is not ready yet.
        """
        *requests, self._begun = (self._begun + data).split(b"\r\n")
        if len(self._begun) > _LONGEST_REQUEST:
            requests.append(self._begun)
            self._begun = b""
        return b"".join(map(self._answer_one, requests))

    def _answer_one(self, request: bytes) -> bytes:
        if request != b"R":
            return _UNKNOWN
        return b"" if self._newest is None else _line(self._newest)


def _line(shown: Shown) -> bytes:
    number = f"{shown.weight:f}"
    if shown.span is Span.ABOVE or len(number) > _WIDTH:
        return b"WH\r\n"
    letter = "S" if shown.stable else "M"
    if shown.span is Span.BELOW:
        letter = "L"
    return f"W{letter} {number:>{_WIDTH}} {shown.unit}\r\n".encode("ascii")
