r"""Thirteen bytes: STX, a byte of flags, eight columns of number, two of unit, a check byte.

Flags: 01 over the range, 02 under it, 04 in motion, 08 net, 10 negative, and 20 always. The
number is padded with zeros and without a sign; the unit is left-aligned; the check byte makes the
sum of all thirteen a multiple of 256.
"""

from __future__ import annotations

from simulators.display import Shown, Span
from simulators.sending import fits

_WIDTH = 8


def status_bits(shown: Shown) -> bytes:
    """One reading as it is sent; a number too wide for its columns is over the range."""
    size = abs(shown.weight)
    over = shown.span is Span.ABOVE or not fits(size, _WIDTH)
    under = shown.span is Span.BELOW
    flags = (
        0x20
        | (0x01 if over else 0)
        | (0x02 if under and not over else 0)
        | (0 if shown.stable else 0x04)
        | (0x08 if shown.net else 0)
        | (0x10 if shown.weight < 0 else 0)
    )
    number = "0" * _WIDTH if over or under else f"{size:f}".zfill(_WIDTH)
    frame = bytes([0x02, flags]) + f"{number}{shown.unit:<2}".encode("ascii")
    return frame + bytes([-sum(frame) % 256])
