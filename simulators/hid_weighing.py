"""A USB HID weighing device: its report descriptor and its six-byte reports.

=====  =====================================================================
0      report number, 3
1      status: 1 fault, 2 stable at zero, 3 in motion, 4 stable, 5 under zero,
       6 over the limit
2      unit: 2 g, 3 kg, 11 oz, 12 lb
3      power of ten, signed
4-5    weight without its sign, little-endian
=====  =====================================================================

USB-IF, HID Point of Sale Usage Tables, version 1.02, Weighing Devices page (0x8D).
"""

from __future__ import annotations

import struct
from typing import Final

from simulators.display import Shown, Span

REPORT_DESCRIPTOR: Final = bytes.fromhex(
    "058D 0920 A101 8503 0932 A102"  # weighing devices, scale, report 3, scale data report
    "1500 26FF00 7508"
    "0970 A102 1971 2978 1501 2508 9501 8100 C0"  # status, one of eight
    "0950 A102 1951 295C 1501 250C 9501 8100 C0"  # unit, one of twelve
    "0941 1581 257F 9501 8102"  # scaling
    "0940 1500 27FFFF0000 7510 9501 8102"  # weight
    "C0 C0"
)

_UNITS: Final = {"g": 2, "kg": 3, "oz": 11, "lb": 12}
_MOST: Final = 0xFFFF


def hid_report(shown: Shown) -> bytes:
    """The report of one reading; a number too large for its field is over the limit."""
    _, digits, exponent = shown.weight.as_tuple()
    number = int("".join(map(str, digits)))
    assert isinstance(exponent, int)  # noqa: S101 -- a display shows finite numbers
    if shown.span is Span.ABOVE or number > _MOST:
        status, number = 6, 0
    elif shown.span is Span.BELOW or shown.weight < 0:
        status = 5
    elif not shown.stable:
        status = 3
    else:
        status = 4 if number else 2
    return struct.pack("<BBBbH", 3, status, _UNITS[shown.unit], exponent, number)
