"""The name of a serial adapter that stays when its number changes (udev's /dev/serial/by-id)."""

from __future__ import annotations

from pathlib import Path
from typing import Final

BY_ID: Final = Path("/dev/serial/by-id")
"""One link an adapter, named by maker, model and serial number."""
BY_PATH: Final = Path("/dev/serial/by-path")
"""One link an adapter, named by the socket that it is plugged into."""


def steady_name(device: str, by_id: Path = BY_ID) -> str:
    """The name by which to open a line again that may have got another number; blocking.

    Args:
        device: How its owner names it, while it is there.
        by_id: Folder of the lasting names.

    Returns:
        The one lasting name that leads to the same line; ``device`` where there is none.
    """
    try:
        line = Path(device).resolve(strict=True)
        names = [name for name in by_id.iterdir() if name.resolve() == line]
    except OSError:  # an address, or a system without such names
        return device
    return str(names[0]) if len(names) == 1 else device
