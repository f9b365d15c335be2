"""A scale's radio as its port: what it writes is notified, what is written to it is read.

The peripherals by the format that they speak: the Bluetooth SIG's own service, or ASCII lines over
a service that works like a serial line.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import cycle
from types import MappingProxyType
from typing import Final

from simulators.bluez_device import Device
from simulators.gatt import Characteristic, Peripheral, Service, assigned
from simulators.weight_scale_service import WEIGHT_SCALE, WeightScaleService
from simulators.wire import WIRES, Wire

BLE_WIRES: Final = MappingProxyType[str, Callable[[], Wire]](
    {"weight-scale-service": WeightScaleService, **WIRES}
)
"""Makes a fresh end of the connection, by the format's name."""

_LINE: Final = Service(
    "7d1f0a01-52c6-4b8e-9a3d-1c0e6f2b8d40",
    (
        Characteristic(
            "7d1f0a02-52c6-4b8e-9a3d-1c0e6f2b8d40", ("write", "write-without-response")
        ),
        Characteristic("7d1f0a03-52c6-4b8e-9a3d-1c0e6f2b8d40", ("notify",)),
    ),
)
"""A service of our own numbers that works like a serial line."""
_ABOUT: Final = Service(assigned(0x180A), (Characteristic(assigned(0x2A29), ("read",), b"sim"),))
"""Device information, as most peripherals have it."""

_PIECES: Final = (20, 7, 1, 13, 20)
"""Bytes a notification; 20 is what fits without agreeing on more (ATT's least MTU, 23, less 3)."""


def peripheral(format_: str, address: str, name: str = "simulated scale") -> Peripheral:
    """A scale on the air that speaks one of :data:`BLE_WIRES`."""
    service = WEIGHT_SCALE if format_ == "weight-scale-service" else _LINE
    return Peripheral(address, name, (service, _ABOUT))


class BlePort:
    """One peripheral as the port of a simulated scale; lines are cut up, messages are not."""

    def __init__(self, device: Device, *, lines: bool) -> None:
        self.device = device
        self._pieces = cycle(_PIECES) if lines else None

    @property
    def opened(self) -> bool:
        """Whether anybody listens."""
        return self.device.heard

    def write(self, data: bytes) -> None:
        """Notify whoever listens."""
        if self._pieces is None:
            self.device.say(data)
            return
        while data:
            size = next(self._pieces)
            self.device.say(data[:size])
            data = data[size:]

    def read(self) -> bytes:
        """What was written to it."""
        return self.device.take()
