"""Serial ports by names that stay: ``usb:SERIAL``, the serial number of the adapter.

The system numbers its ports in the order in which they are plugged in; after a replug the same
adapter may have another number, and another adapter its old one.
"""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, Final

from serial.tools.list_ports import comports

from drivers.steady_name import BY_PATH, steady_name
from scaled.core.errors import LinkAbsent, LinkRefused
from scaled.protocol import Device

if TYPE_CHECKING:
    from serial.tools.list_ports_common import ListPortInfo

SCHEME: Final = "usb:"
"""What a name by serial number begins with."""

_SEE: Final = "plug it in, or see what is there with: scaled scale find"


def port_path(device: str) -> str:
    """The port that a name leads to at this moment; other names as they are. Reads the system.

    Raises:
        LinkRefused: No adapter with that serial number is plugged in, or more than one.
    """
    if not device.startswith(SCHEME):
        return device
    wanted = device.removeprefix(SCHEME)
    paths = sorted(port.device for port in comports() if wanted and port.serial_number == wanted)
    if not paths:
        raise LinkAbsent(device, "no adapter with this serial number is plugged in", _SEE)
    if len(paths) > 1:
        reason = f"several ports have this serial number: {', '.join(paths)}"
        raise LinkRefused(device, reason, "name one by its path in /dev/serial/by-path")
    return str(paths[0])


async def serial_ports(within_s: float) -> list[Device]:
    """The serial ports there are, by names that stay where they have one."""
    del within_s
    return await asyncio.to_thread(_serial_ports)


def _serial_ports() -> list[Device]:
    ports = sorted(comports())
    numbers = [port.serial_number for port in ports]
    return [_device(port, alone=numbers.count(port.serial_number) == 1) for port in ports]


def _device(port: ListPortInfo, *, alone: bool) -> Device:
    """By its adapter's serial number or, without one of its own, by the socket it is in."""
    own = port.serial_number and alone
    name = f"{SCHEME}{port.serial_number}" if own else steady_name(port.device, BY_PATH)
    return Device(name, f"serial port {port.device}")
