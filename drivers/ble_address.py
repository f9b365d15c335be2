"""How a Bluetooth device is named; apart from the link, since bleak is slow to load."""

from __future__ import annotations

import re
from typing import Final

_ADDRESS: Final = re.compile(r"[0-9A-Fa-f]{2}(:[0-9A-Fa-f]{2}){5}")


def is_address(device: str) -> bool:
    """Whether this is a Bluetooth address; nothing that a serial line is called looks like one."""
    return _ADDRESS.fullmatch(device) is not None
