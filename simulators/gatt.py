"""What a BLE peripheral offers: services of characteristics, as numbers and flags."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

_BASE: Final = "0000{:04x}-0000-1000-8000-00805f9b34fb"
"""Where the Bluetooth SIG's 16-bit numbers live among the 128-bit ones (Core, Vol 3, Part B)."""


def assigned(number: int) -> str:
    """The UUID of a 16-bit number assigned by the Bluetooth SIG, in full."""
    return _BASE.format(number)


@dataclass(frozen=True, slots=True)
class Characteristic:
    """One value of a service.

    Attributes:
        uuid: Its number in full, lower case.
        flags: What may be done with it, in BlueZ's words: read, write, notify, indicate.
        value: What reading it gives.
    """

    uuid: str
    flags: tuple[str, ...]
    value: bytes = b""


@dataclass(frozen=True, slots=True)
class Service:
    """A group of characteristics."""

    uuid: str
    characteristics: tuple[Characteristic, ...]


@dataclass(frozen=True, slots=True)
class Peripheral:
    """One device on the air.

    Attributes:
        address: Six hexadecimal pairs, upper case, with colons.
        name: What it calls itself.
        services: What it offers; the first is the one it advertises.
    """

    address: str
    name: str
    services: tuple[Service, ...] = field(default=())
