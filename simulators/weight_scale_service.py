"""The Bluetooth SIG's Weight Scale Service, from the scale's side: one indication a reading.

Weight Measurement 0x2A9D: flags (bit 0: pounds), then an unsigned little-endian count of 0.005 kg
or 0.01 lb; 0xFFFF when there is no number. Weight Scale Feature 0x2A9E: bits 3 to 6 are 7, for
steps of 0.005 kg or 0.01 lb.
"""

from __future__ import annotations

from decimal import Decimal
from types import MappingProxyType
from typing import Final

from simulators.display import Shown, Span
from simulators.gatt import Characteristic, Service, assigned

_STEPS: Final = MappingProxyType(
    {
        "g": (0, Decimal(5)),
        "kg": (0, Decimal("0.005")),
        "oz": (1, Decimal("0.16")),
        "lb": (1, Decimal("0.01")),
    }
)
"""Flags and the size of a count, for each unit on the display."""
_NO_NUMBER: Final = 0xFFFF

WEIGHT_SCALE: Final = Service(
    assigned(0x181D),
    (
        Characteristic(assigned(0x2A9D), ("indicate",)),
        Characteristic(assigned(0x2A9E), ("read",), (7 << 3).to_bytes(4, "little")),
    ),
)


class WeightScaleService:
    """The scale's end of such a connection."""

    def show(self, shown: Shown) -> bytes:
        """The indication for one reading; what is below zero or too heavy has no number."""
        flags, step = _STEPS[shown.unit]
        count = int((shown.weight / step).to_integral_value())
        if shown.span is not Span.WITHIN or not 0 <= count < _NO_NUMBER:
            count = _NO_NUMBER
        return bytes((flags,)) + count.to_bytes(2, "little")

    def answer(self, data: bytes) -> bytes:
        """Nothing: the scale does not listen."""
        del data
        return b""
