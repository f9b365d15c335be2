"""A scale's radio as its port: what it writes is notified, what is written to it is read.

The peripherals by the format that they speak: the Bluetooth SIG's own service, or ASCII lines over
a service that works like a serial line.
"""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from itertools import cycle
from pathlib import Path
from types import MappingProxyType
from typing import Final

from simulators.bluez_radio import FIND_S, Radio
from simulators.deed import Deed
from simulators.gatt import Characteristic, Peripheral, Service, assigned
from simulators.private_bus import PrivateBus
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


_SLOW_S: Final = 3.0
"""A scale that saves power is found and answers this late."""
_NOISE: Final = bytes(range(1, 256))
"""No message and no line of any format: it begins with a reserved flag once cut up."""


class BlePort:
    """One peripheral as the port of a simulated scale; lines are cut up, messages are not.

    Attributes:
        address: Where its radio is found, as ``DBUS_SYSTEM_BUS_ADDRESS``.
        deeds: What may befall it.
    """

    def __init__(self, radio: Radio, format_: str, device_address: str) -> None:
        """Put it on the air, speaking one of :data:`BLE_WIRES`."""
        self.address = radio.bus_address
        self._radio = radio
        self._device = radio.add(peripheral(format_, device_address))
        self._pieces = None if format_ == "weight-scale-service" else cycle(_PIECES)
        self.deeds = MappingProxyType(
            {
                "drop": Deed(self.drop),
                "vanish": Deed(self.vanish, rests=True),
                "return": Deed(self.appear, rests=False),
                "hang": Deed(self.hang),
                "garble": Deed(self.garble),
                "slow": Deed(self.slow),
                "quick": Deed(self.quick),
                "off": Deed(self.switch_off, rests=True),
                "on": Deed(self.switch_on, rests=False),
                "die": Deed(radio.stop, rests=True),
                "revive": Deed(radio.start, rests=False),
            }
        )

    @property
    def opened(self) -> bool:
        """Whether anybody listens."""
        return self._device.heard

    def write(self, data: bytes) -> None:
        """Notify whoever listens."""
        if self._pieces is None:
            self._device.say(data)
            return
        while data:
            size = next(self._pieces)
            self._device.say(data[:size])
            data = data[size:]

    def read(self) -> bytes:
        """What was written to it."""
        return self._device.take()

    async def drop(self) -> None:
        """End the connection once, from the scale's side."""
        self._device.disconnect()

    async def vanish(self) -> None:
        """Go out of reach, or out of power."""
        self._device.reachable = False
        self._device.hide()

    async def appear(self) -> None:
        """Come back within reach."""
        self._radio.hear(self._device)

    async def hang(self) -> None:
        """Neither say nor answer anything until somebody ends the connection."""
        self._device.stalled = True

    async def garble(self) -> None:
        """Send noise, once."""
        for at in range(0, len(_NOISE), _PIECES[0]):
            self._device.say(b"\xff" + _NOISE[at : at + _PIECES[0] - 1])

    async def slow(self) -> None:
        """Be found, and tell what services there are, only after seconds."""
        self._radio.find_s = self._device.resolve_s = _SLOW_S

    async def quick(self) -> None:
        """Be found at once again."""
        self._radio.find_s, self._device.resolve_s = FIND_S, 0.0

    async def switch_off(self) -> None:
        """Switch off the radio of the machine."""
        self._radio.power(False)

    async def switch_on(self) -> None:
        """Switch it on again."""
        self._radio.power(True)


@asynccontextmanager
async def ble_port(socket: Path, format_: str, device_address: str) -> AsyncIterator[BlePort]:
    """A scale on the air around a radio of its own, whose bus is at a socket of its own.

    Raises:
        PortError: The socket cannot be made.
    """
    async with PrivateBus(socket) as bus, Radio(bus.address) as radio:
        yield BlePort(radio, format_, device_address)
