r"""Answers to ENQ (05), for example ``\x020 00123.50kg\x03`` and a check byte.

=====  =====================================================================
1      ``0`` steady, ``1`` in motion, ``2`` over, ``3`` under the range; over
       and under, ETX follows at once
2      ``-`` or space
3-10   number, padded with zeros
11-12  unit, right-aligned
=====  =====================================================================

Between STX and ETX; then the exclusive or of all bytes after STX, ETX among them.
"""

from __future__ import annotations

from functools import reduce

from simulators.display import Shown, Span
from simulators.sending import fits

ENQUIRY = b"\x05"

_WIDTH = 8


def enquiry_bcc(shown: Shown) -> bytes:
    """The answer for one reading; a number too wide for its columns is over the range."""
    if shown.span is Span.BELOW:
        fields = "3"
    elif shown.span is Span.ABOVE or not fits(abs(shown.weight), _WIDTH):
        fields = "2"
    else:
        sign = "-" if shown.weight < 0 else " "
        number = f"{abs(shown.weight):f}".zfill(_WIDTH)
        fields = f"{'0' if shown.stable else '1'}{sign}{number}{shown.unit:>2}"
    checked = fields.encode("ascii") + b"\x03"
    return b"\x02" + checked + bytes([reduce(int.__xor__, checked)])
