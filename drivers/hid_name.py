"""Names of USB weighing devices that stay: ``usb:SERIAL``, or where one is plugged in.

The system numbers its hidraw nodes in the order in which devices are plugged in. The kernel tells
what each is in a file ``device/uevent``: its serial number as ``HID_UNIQ``, which many scales
lack, and the socket that it is plugged into as ``HID_PHYS``.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final, NamedTuple

from drivers.ports import SCHEME
from scaled.core.errors import LinkAbsent, LinkRefused

NODES: Final = Path("/sys/class/hidraw")
"""One folder for each node."""

_SEE: Final = "plug it in, or see what is there with: scaled scale find"


class _Names(NamedTuple):
    """What the system calls one device; "" where it does not say."""

    serial: str
    socket: str


def hid_path(device: str, nodes: Path = NODES) -> str:
    """The node that a name leads to at this moment; other names as they are. Reads the system.

    Raises:
        LinkRefused: No device of that name is plugged in, or more than one.
    """
    if not device.startswith(SCHEME):
        return device
    wanted = device.removeprefix(SCHEME)
    paths = [path for path, names in _named(nodes).items() if wanted and wanted in names]
    if not paths:
        raise LinkAbsent(device, "no USB device of this name is plugged in", _SEE)
    if len(paths) > 1:
        reason = f"several devices have this serial number: {', '.join(paths)}"
        raise LinkRefused(device, reason, "name it as scaled scale find does")
    return paths[0]


def lasting_hid_name(path: str, nodes: Path = NODES) -> str:
    """The name of a node to write down; reads the system.

    Returns:
        By its serial number or, without one of its own, by its socket; ``path`` where the system
        tells neither.
    """
    by_serial = steady_hid_name(path, nodes)
    if by_serial != path:
        return by_serial
    socket = _named(nodes).get(path, _NAMELESS).socket
    return f"{SCHEME}{socket}" if socket else path


def steady_hid_name(device: str, nodes: Path = NODES) -> str:
    """The name by which to open a node again that may get another number; blocking.

    Args:
        device: How its owner names it, while it is there.
        nodes: Folder of the system's list.

    Returns:
        By its serial number; ``device`` without one of its own: it may come back at any socket.
    """
    named = _named(nodes)
    serial = named.get(device, _NAMELESS).serial
    alone = sum(names.serial == serial for names in named.values()) == 1
    return f"{SCHEME}{serial}" if serial and alone else device


def _named(nodes: Path) -> dict[str, _Names]:
    """The names of each node by its path."""
    try:
        return {f"/dev/{node.name}": _names(node) for node in sorted(nodes.iterdir())}
    except OSError:  # a system without such devices
        return {}


def _names(node: Path) -> _Names:
    try:
        text = (node / "device" / "uevent").read_text(encoding="utf-8", errors="replace")
    except OSError:  # it was unplugged meanwhile
        return _NAMELESS
    told = dict(line.partition("=")[::2] for line in text.splitlines())
    return _Names(told.get("HID_UNIQ", ""), told.get("HID_PHYS", ""))


_NAMELESS: Final = _Names("", "")
