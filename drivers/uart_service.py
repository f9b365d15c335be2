"""ASCII lines by radio: a service that is a serial line in both directions, and its link.

There are many such services, each with numbers of its own, and one shape: a characteristic that
notifies what the device sends, and one, maybe the same, that is written to. The first such
service is taken that is none of the Bluetooth SIG's own. Notifications end anywhere in a line.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from drivers.ble_link import PATIENCE, BleLink, Channel, Patience, open_ble_link

if TYPE_CHECKING:
    from collections.abc import Iterable

    from bleak.backends.characteristic import BleakGATTCharacteristic
    from bleak.backends.service import BleakGATTServiceCollection

    from scaled.protocol import LineSettings

_ASSIGNED: Final = "-0000-1000-8000-00805f9b34fb"
"""How UUIDs end that the Bluetooth SIG assigned (Core Specification, Vol 3, Part B, 2.5.1)."""
_STANDARD: Final = "000018"
"""How those of its services begin (Assigned Numbers, 3.4.1); members' own are FCxx, FDxx."""

_NOTIFIES: Final = {"notify", "indicate"}
_WRITES: Final = {"write", "write-without-response"}


async def open_uart_link(
    device: str, settings: LineSettings, patience: Patience = PATIENCE
) -> BleLink:
    """Connect to a scale that sends lines by radio; raises LinkRefused.

    The settings of a serial line mean nothing to it.
    """
    del settings
    return await open_ble_link(device, choose_uart, "service that works like a line", patience)


def is_standard(uuid: str) -> bool:
    """Whether a service is one of the Bluetooth SIG's own."""
    return uuid.startswith(_STANDARD) and uuid.endswith(_ASSIGNED)


def choose_uart(services: BleakGATTServiceCollection) -> Channel | None:
    """The channel of the first service of that shape, None when there is none."""
    everything = sorted(services.characteristics.values(), key=lambda each: each.handle)
    ask = _first(everything, {"read"})
    for service in sorted(services, key=lambda each: each.handle):
        if is_standard(service.uuid):
            continue
        within = sorted(service.characteristics, key=lambda each: each.handle)
        hear, speak = _first(within, _NOTIFIES), _first(within, _WRITES)
        if hear is not None and speak is not None:
            return Channel(hear, speak, ask)
    return None


def _first(
    characteristics: Iterable[BleakGATTCharacteristic], wanted: set[str]
) -> BleakGATTCharacteristic | None:
    """The first of which one of these things may be done."""
    return next((each for each in characteristics if wanted & set(each.properties)), None)
