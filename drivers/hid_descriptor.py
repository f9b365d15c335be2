"""USB HID report descriptors: where in an input report each field lies and what it means.

Items are one prefix byte (size, type, tag) and 0, 1, 2 or 4 bytes of data, little-endian; only
what describes input fields is kept. What is malformed ends the reading: fields before it count.

USB-IF, Device Class Definition for Human Interface Devices, version 1.11, section 6.2.2.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator

LONGEST: Final = 4096
"""Bytes in the longest descriptor (Linux, HID_MAX_DESCRIPTOR_SIZE)."""

_MAIN, _GLOBAL, _LOCAL = range(3)
_INPUT: Final = 0x8
_PUSH, _POP = 0xA, 0xB
_REPORT_ID, _SIZE, _COUNT = 0x8, 0x7, 0x9
_PAGE, _LOGICAL_MIN, _LOGICAL_MAX, _EXPONENT, _UNIT = 0x0, 0x1, 0x2, 0x5, 0x6
_USAGE, _USAGE_MIN, _USAGE_MAX = 0x0, 0x1, 0x2
_SIGNED: Final = {_LOGICAL_MIN, _LOGICAL_MAX}
_LONG_ITEM: Final = 0xFE
_MOST_FIELDS: Final = 1024
_MOST_BITS: Final = 8 * LONGEST


@dataclass(frozen=True, slots=True)
class InputField:
    """One value in an input report.

    Attributes:
        report: Its report's number, 0 when reports have none.
        bit: Where it begins, counted from the report's first bit after the number.
        size: Its bits.
        usages: Page and usage, ``page << 16 | usage``: one for a variable; for an array those
            that its value picks from, the first for ``least``.
        array: Whether the value picks a usage rather than being one's value.
        least: Its least logical value; below zero when it is signed.
        exponent: Power of ten of its unit.
        unit: Its unit as coded by the specification; 0 for none.
    """

    report: int
    bit: int
    size: int
    usages: tuple[int, ...]
    array: bool
    least: int
    exponent: int
    unit: int

    def value(self, report: bytes) -> int | None:
        """Its value in a report (number left out); None when the report is too short."""
        if self.bit + self.size > 8 * len(report):
            return None
        value = int.from_bytes(report, "little") >> self.bit & (1 << self.size) - 1
        if self.least < 0 and value >> self.size - 1:
            value -= 1 << self.size
        return value

    def picked(self, report: bytes) -> int | None:
        """The usage an array's value picks in a report, None when it picks none."""
        value = self.value(report)
        index = -1 if value is None else value - self.least
        return self.usages[index] if 0 <= index < len(self.usages) else None


@dataclass(frozen=True, slots=True)
class _Globals:
    page: int = 0
    least: int = 0
    exponent: int = 0
    unit: int = 0
    size: int = 0
    count: int = 0
    report: int = 0


@dataclass(slots=True)
class _Reading:
    """A descriptor as far as it has been read."""

    now: _Globals = _Globals()
    kept: list[_Globals] = field(default_factory=list)
    usages: list[int] = field(default_factory=list)
    first: int | None = None
    bits: dict[int, int] = field(default_factory=dict)
    fields: list[InputField] = field(default_factory=list)

    def take(self, kind: int, tag: int, data: bytes) -> None:
        if kind == _GLOBAL:
            self._take_global(tag, data)
        elif kind == _LOCAL:
            self._take_local(tag, data)
        elif kind == _MAIN:
            if tag == _INPUT:
                self._add(int.from_bytes(data, "little"))
            self.usages, self.first = [], None

    def _take_global(self, tag: int, data: bytes) -> None:
        number = int.from_bytes(data, "little", signed=tag in _SIGNED)
        if tag == _REPORT_ID:
            number &= 0xFF  # it has one byte in the reports, however many here
        names = {
            _PAGE: "page", _LOGICAL_MIN: "least", _UNIT: "unit", _SIZE: "size",
            _COUNT: "count", _REPORT_ID: "report",
        }  # fmt: skip
        if tag == _PUSH:
            self.kept.append(self.now)
        elif tag == _POP and self.kept:
            self.now = self.kept.pop()
        elif tag == _EXPONENT:
            # Four bits, signed: 8 to 15 stand for -8 to -1; some devices send a signed byte.
            nibble = number & 0xF
            self.now = replace(self.now, exponent=nibble - 16 if nibble > 7 else nibble)
        elif tag in names:
            self.now = replace(self.now, **{names[tag]: number})

    def _take_local(self, tag: int, data: bytes) -> None:
        usage = int.from_bytes(data, "little")
        if len(data) < 4:  # a longer one brings its page along
            usage |= self.now.page << 16
        if tag == _USAGE:
            self.usages.append(usage)
        elif tag == _USAGE_MIN:
            self.first = usage
        elif tag == _USAGE_MAX and self.first is not None:
            last = min(usage, self.first + _MOST_FIELDS)
            self.usages.extend(range(self.first, last + 1))
            self.first = None

    def _add(self, flags: int) -> None:
        now, constant, variable = self.now, flags & 1, flags & 2
        begin = self.bits.get(now.report, 0)
        self.bits[now.report] = begin + now.size * now.count
        if constant or not now.size or self.bits[now.report] > _MOST_BITS:
            return
        for i in range(min(now.count, _MOST_FIELDS - len(self.fields))):
            if variable:  # the last usage goes on for the rest
                usages = tuple(self.usages[i : i + 1] or self.usages[-1:])
            else:
                usages = tuple(self.usages)
            self.fields.append(
                InputField(
                    report=now.report,
                    bit=begin + i * now.size,
                    size=now.size,
                    usages=usages,
                    array=not variable,
                    least=now.least,
                    exponent=now.exponent,
                    unit=now.unit,
                )
            )


def input_fields(descriptor: bytes) -> list[InputField]:
    """The fields of all input reports, in the order in which they are described."""
    reading = _Reading()
    for kind, tag, data in _items(descriptor[:LONGEST]):
        reading.take(kind, tag, data)
    return reading.fields


def _items(descriptor: bytes) -> Iterator[tuple[int, int, bytes]]:
    at = 0
    while at < len(descriptor):
        prefix = descriptor[at]
        if prefix == _LONG_ITEM:
            at += 3 + (descriptor[at + 1] if at + 1 < len(descriptor) else 0)
            continue
        size = (0, 1, 2, 4)[prefix & 3]
        data = descriptor[at + 1 : at + 1 + size]
        if len(data) < size:
            return
        yield prefix >> 2 & 3, prefix >> 4, data
        at += 1 + size
