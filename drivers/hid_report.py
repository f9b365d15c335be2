"""Weighing devices' reports: weight, scaling, unit and status by their usages.

=========  ==========================  =========  =============================
0x40       data weight                 0x51-0x5C  mg, g, kg, carat, tael, grain, pennyweight,
0x41       data scaling, power of ten             metric ton, avoirdupois ton, troy ounce, oz, lb
0x71       fault                       0x75       under zero
0x72       stable at centre of zero    0x76       over the weight limit
0x73       in motion                   0x77       requires calibration
0x74       weight stable               0x78       requires re-zeroing
=========  ==========================  =========  =============================

Under zero the weight, which most devices send without a sign, is negative.

USB-IF, HID Point of Sale Usage Tables, version 1.02, Weighing Devices page (0x8D).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from drivers.hid_descriptor import InputField, input_fields
from drivers.plausible import is_plausible
from scaled.core.reading import Reading, Unit
from scaled.protocol import Notice, NoticeKind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from scaled.protocol import Frame

_PAGE: Final = 0x8D << 16
_WEIGHT, _SCALING = _PAGE | 0x40, _PAGE | 0x41
_FAULT, _ZERO, _MOVING, _STABLE, _UNDER_ZERO, _OVER, _CALIBRATE, _REZERO = (
    _PAGE | code for code in range(0x71, 0x79)
)
_STATUSES: Final = range(_FAULT, _REZERO + 1)
_UNITS: Final = {
    _PAGE | 0x51: (Unit.G, -3),
    _PAGE | 0x52: (Unit.G, 0),
    _PAGE | 0x53: (Unit.KG, 0),
    _PAGE | 0x58: (Unit.KG, 3),
    _PAGE | 0x5B: (Unit.OZ, 0),
    _PAGE | 0x5C: (Unit.LB, 0),
}
"""Units a reading can have, with the power of ten to them; the others are jewellers'."""

_ALL_UNITS: Final = range(_PAGE | 0x51, (_PAGE | 0x5C) + 1)
_GRAM: Final = 0x101
"""Mass in the system of centimetre and gram (Device Class Definition for HID 1.11, 6.2.2.7)."""

_WIDEST: Final = 32
"""Bits in the widest weight; an item's limits have no more."""

_NOTICES: Final = {
    _OVER: NoticeKind.OVERLOAD,
    _FAULT: NoticeKind.FAULT,
    _CALIBRATE: NoticeKind.FAULT,
    # What helps is the same: empty the pan and press the zero key.
    _REZERO: NoticeKind.UNDERLOAD,
}
_STABLE_MARKS: Final = {_ZERO: True, _STABLE: True, _MOVING: False, _UNDER_ZERO: None}


@dataclass(frozen=True, slots=True)
class WeighingReport:
    """Where one device's weight, scaling, unit and status lie; all in one report.

    Attributes:
        weight: The number.
        others: Scaling, units and statuses, as far as there are any.
        numbered: Whether reports begin with their number.
    """

    weight: InputField
    others: tuple[InputField, ...]
    numbered: bool

    @property
    def number(self) -> int:
        """The report's number; 0 when reports have none."""
        return self.weight.report

    def read(self, report: bytes, t: float) -> Frame | None:
        """What a report says at ``t``; None when it makes no sense.

        Args:
            report: As the device sends it, with its number if reports are numbered.
            t: Its time.
        """
        if self.numbered:
            report = report[1:]
        number = self.weight.value(report)
        statuses = self._told(report, _STATUSES)
        if number is None or len(statuses) > 1:
            return None
        status = statuses[0] if statuses else None
        if status in _NOTICES:
            return Notice(t, _NOTICES[status])
        unit = self._unit(report)
        if unit is None:
            return None
        power = unit[1] + self._scaling(report)
        # As text, so that 123 and -1 make 12.3 and not 12.3 nearly.
        weight = float(f"{-abs(number) if status == _UNDER_ZERO else number}e{power}")
        if not is_plausible(weight, unit[0]):
            return None
        return Reading(t, weight, unit[0], None if status is None else _STABLE_MARKS[status])

    def _told(self, report: bytes, wanted: range) -> list[int]:
        """The usages that hold: picked by an array, or flags that are set."""
        told = []
        for field in self.others:
            usage = field.picked(report) if field.array else field.usages[0]
            if usage is not None and usage in wanted and (field.array or field.value(report)):
                told.append(usage)
        return told

    def _unit(self, report: bytes) -> tuple[Unit, int] | None:
        if not any(usage in _ALL_UNITS for field in self.others for usage in field.usages):
            return (Unit.G, self.weight.exponent) if self.weight.unit == _GRAM else None
        told = self._told(report, _ALL_UNITS)
        return _UNITS.get(told[0]) if len(told) == 1 else None

    def _scaling(self, report: bytes) -> int:
        for field in self.others:
            if not field.array and field.usages[0] == _SCALING:
                # One signed byte, whatever limits a device gives for it.
                value = (field.value(report) or 0) & 0xFF
                return value - 256 if value > 127 else value
        return 0


def weighing_report(descriptor: bytes) -> WeighingReport | None:
    """Where a device's weight is told; None when it is no weighing device."""
    fields = [field for field in input_fields(descriptor) if field.usages]
    weight = next((f for f in fields if not f.array and f.usages[0] == _WEIGHT), None)
    if weight is None or weight.size > _WIDEST:
        return None
    return WeighingReport(weight, _beside(weight, fields), any(field.report for field in fields))


def _beside(weight: InputField, fields: Sequence[InputField]) -> tuple[InputField, ...]:
    return tuple(f for f in fields if f.report == weight.report and f is not weight)
