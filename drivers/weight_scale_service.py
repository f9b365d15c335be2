"""The Bluetooth SIG's Weight Scale Service: one weight an indication.

Weight Measurement (0x2A9D), little-endian:

======  =======  ================================================================
bytes   type     what
======  =======  ================================================================
0       u8       flags: bit 0 pounds and inches, else kilograms and metres; bit 1
                 time stamp; bit 2 user; bit 3 body mass index and height
1-2     u16      weight, 0.005 kg or 0.01 lb a count; 0xFFFF: unsuccessful
next 7  u16, u8  time stamp: year, month, day, hour, minute, second; year, month
                 and day may be 0, not known
next 1  u8       user; 0xFF: not known
next 4  u16 u16  body mass index, 0.1 kg/m² a count; height, 0.001 m or 0.1 in
======  =======  ================================================================

Weight Scale Feature (0x2A9E) is a u32: bits 0 to 2 the optional fields, bits 3 to 6 the weight's
resolution, bits 7 to 9 the height's. A message of another length than its flags say, or with a
time that no clock shows, makes no sense; nor does one with a reserved flag, which is how text
that came from something else is told.

Bluetooth SIG, Weight Scale Service 1.0, sections 3.1 and 3.2; GATT Specification Supplement.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Final

from drivers.ble_link import PATIENCE, BleLink, Channel, Patience, open_ble_link
from scaled.core.reading import GRAMS, Reading, Unit
from scaled.protocol import Device, Driver, Frame, Notice, NoticeKind

if TYPE_CHECKING:
    from bleak.backends.service import BleakGATTServiceCollection

    from scaled.protocol import LineSettings

SERVICE: Final = "0000181d-0000-1000-8000-00805f9b34fb"
MEASUREMENT: Final = "00002a9d-0000-1000-8000-00805f9b34fb"
FEATURE: Final = "00002a9e-0000-1000-8000-00805f9b34fb"

_UNSUCCESSFUL: Final = 0xFFFF
_UNKNOWN_USER: Final = 0xFF
_COUNTS_A_KG: Final = 200
_COUNTS_A_LB: Final = 100

_IMPERIAL, _TIME, _USER, _BODY, _RESERVED = 0x01, 0x02, 0x04, 0x08, 0xF0

_RESOLUTIONS: Final = {
    Unit.KG: (None, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005),
    Unit.LB: (None, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """All that one weight measurement says.

    Attributes:
        weight: In ``unit``; None when the measurement was unsuccessful.
        unit: Kilograms or pounds.
        taken_at: The scale's own clock, which knows no time zone; None when it told no full date.
        user: Number of the person weighed; None when not told or not known.
        body_mass_index: In kg/m².
        height: In metres, or in inches beside pounds.
    """

    weight: float | None
    unit: Unit
    taken_at: datetime | None = None
    user: int | None = None
    body_mass_index: float | None = None
    height: float | None = None


@dataclass(frozen=True, slots=True)
class Feature:
    """What a scale says it can do.

    Attributes:
        time_stamps: It tells when it weighed.
        users: It tells several people apart.
        body_mass: It tells a body mass index.
        resolution: Code of the weight's resolution.
    """

    time_stamps: bool
    users: bool
    body_mass: bool
    resolution: int

    def step(self, unit: Unit) -> float | None:
        """The smallest step shown, in kilograms or pounds; None when it does not say."""
        steps = _RESOLUTIONS[unit]
        return steps[self.resolution] if self.resolution < len(steps) else None


class WeightScaleDecoder:
    """Decodes weight measurements, one a call; what makes no sense is dropped and counted."""

    def __init__(self) -> None:
        self.dropped = 0

    def feed(self, data: bytes, t: float) -> list[Frame]:
        """What one indication says at ``t``."""
        measured = parse_measurement(data)
        if measured is None:
            self.dropped += 1
            return []
        if measured.weight is None:
            return [Notice(t, NoticeKind.UNSUCCESSFUL)]
        return [Reading(t, measured.weight, measured.unit)]


def parse_measurement(data: bytes) -> Measurement | None:
    """What the bytes of a weight measurement say; None when they make no sense."""
    try:
        return _measurement(data)
    except (struct.error, ValueError):
        return None


def parse_feature(data: bytes) -> Feature | None:
    """What the bytes of a weight scale feature say; None when they make no sense."""
    if len(data) != 4:
        return None
    bits = int.from_bytes(data, "little")
    return Feature(bool(bits & 1), bool(bits & 2), bool(bits & 4), bits >> 3 & 0xF)


def step_g(feature: bytes) -> float:
    """The smallest step that a scale with this feature shows, g; a count if it does not say."""
    told = parse_feature(feature)
    step_kg = told.step(Unit.KG) if told else None
    return GRAMS[Unit.KG] * (step_kg or 1 / _COUNTS_A_KG)


def choose_weight_scale(services: BleakGATTServiceCollection) -> Channel | None:
    """The service's channel, None when a peripheral has none."""
    service = services.get_service(SERVICE)
    measurement = service.get_characteristic(MEASUREMENT) if service else None
    if service is None or measurement is None:
        return None
    return Channel(measurement, ask=service.get_characteristic(FEATURE), step_g=step_g)


async def open_weight_scale(
    device: str, settings: LineSettings, patience: Patience = PATIENCE
) -> BleLink:
    """Connect to the scale with that Bluetooth address; raises LinkRefused."""
    del settings
    return await open_ble_link(device, choose_weight_scale, "Weight Scale Service", patience)


async def _scales_near(within_s: float) -> list[Device]:
    from drivers.ble_near import weight_scales_near  # noqa: PLC0415 -- it needs this module

    return await weight_scales_near(within_s)


def _measurement(data: bytes) -> Measurement:
    """Raises struct.error when there is too little, ValueError when something cannot be so."""
    flags, counts = struct.unpack_from("<BH", data)
    at = 3
    taken_at, user, index, height = None, None, None, None
    if flags & _TIME:
        taken_at, at = _instant(struct.unpack_from("<H5B", data, at)), at + 7
    if flags & _USER:
        user, at = data[at : at + 1], at + 1
    if flags & _BODY:
        (index, height), at = struct.unpack_from("<HH", data, at), at + 4
    if len(data) != at or flags & _RESERVED:
        raise ValueError("not as its flags say")
    imperial = bool(flags & _IMPERIAL)
    weight = counts / (_COUNTS_A_LB if imperial else _COUNTS_A_KG)
    return Measurement(
        weight=None if counts == _UNSUCCESSFUL else weight,
        unit=Unit.LB if imperial else Unit.KG,
        taken_at=taken_at,
        user=user[0] if user and user[0] != _UNKNOWN_USER else None,
        body_mass_index=None if index is None else index / 10,
        height=None if height is None else height / (10 if imperial else 1000),
    )


def _instant(fields: tuple[int, ...]) -> datetime | None:
    """A time stamp; None when part of its date is not known; raises ValueError."""
    year, month, day, hour, minute, second = fields
    known = all((year, month, day))
    # What is not known is checked as if it were the first: the rest must be a time all the same.
    instant = datetime(year or 2000, month or 1, day or 1, hour, minute, second)  # noqa: DTZ001
    return instant if known else None


DRIVER: Final = Driver(
    summary="the Bluetooth SIG's Weight Scale Service, in steps of 5 g or 0.01 lb",
    decoder=WeightScaleDecoder,
    open=open_weight_scale,
    finest_g=GRAMS[Unit.KG] / _COUNTS_A_KG,
    near=(_scales_near,),
)
