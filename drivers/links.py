"""Opens the link that a device's name asks for, for formats that any byte stream may carry."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drivers.remote_link import SCHEMES, open_remote_link
from drivers.serial_link import open_serial_link
from scaled.protocol import by_radio

if TYPE_CHECKING:
    from scaled.protocol import Device, LineSettings, Link


async def open_link(device: str, settings: LineSettings) -> Link:
    """Open an address of a serial server or of a Bluetooth device, or a serial port.

    Those are ``socket://HOST:PORT`` and ``rfc2217://HOST:PORT``; six pairs of hex digits; and
    ``usb:SERIAL`` or a path.

    Raises:
        LinkRefused: It cannot be opened.
    """
    if device.startswith(tuple(f"{scheme}://" for scheme in SCHEMES)):
        return await open_remote_link(device, settings)
    if by_radio(device):
        from drivers.uart_service import open_uart_link  # noqa: PLC0415 -- bleak is slow to load

        return await open_uart_link(device, settings)
    return await open_serial_link(device, settings)


async def radios_near(within_s: float) -> list[Device]:
    """Radios that may be a line; raises LinkRefused where there is none to listen with."""
    from drivers.ble_near import uarts_near  # noqa: PLC0415 -- bleak is slow to load

    return await uarts_near(within_s)
