"""Opens the link that a device's name asks for, for formats that any byte stream may carry."""

from __future__ import annotations

from typing import TYPE_CHECKING

from drivers.remote_link import SCHEMES, open_remote_link
from drivers.serial_link import open_serial_link

if TYPE_CHECKING:
    from scaled.protocol import LineSettings, Link


async def open_link(device: str, settings: LineSettings) -> Link:
    """Open ``socket://HOST:PORT``, ``rfc2217://HOST:PORT``, or else a serial line's path.

    Raises:
        LinkRefused: It cannot be opened.
    """
    if device.startswith(tuple(f"{scheme}://" for scheme in SCHEMES)):
        return await open_remote_link(device, settings)
    return await open_serial_link(device, settings)
