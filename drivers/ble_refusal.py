"""What bleak and the Bluetooth service say when something fails, as one line for a person.

The only place that knows their errors: bleak's own, those of the D-Bus library under it, which it
lets through when it signs in to the bus, and the system's.
"""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, Final

from bleak.exc import (
    BleakBluetoothNotAvailableError,
    BleakBluetoothNotAvailableReason,
    BleakDBusError,
    BleakDeviceNotFoundError,
    BleakError,
)
from dbus_fast.errors import DBusFastError

from scaled.core.errors import LinkAbsent, LinkLost, LinkRefused

if TYPE_CHECKING:
    from collections.abc import Iterator

FAILURES: Final = (BleakError, DBusFastError, OSError, EOFError)
"""All that the library raises when a radio, a service or a peripheral fails; TimeoutError is an
OSError."""

_NEAR: Final = "check that the scale is on, near, and not connected to something else"
_NO_SERVICE: Final = (
    "the Bluetooth service is not running",
    "start it, such as with: systemctl start bluetooth",
)
_DENIED: Final = (
    "permission denied by the Bluetooth service",
    "let this user into the group that may use it, often bluetooth, and sign in again",
)
_OFF: Final = (
    "the Bluetooth radio is off",
    "switch it on, such as with: bluetoothctl power on",
)
_UNAVAILABLE: Final = {
    BleakBluetoothNotAvailableReason.NO_BLUETOOTH: (
        "this machine has no Bluetooth radio",
        "plug one in, or use the scale's cable",
    ),
    BleakBluetoothNotAvailableReason.NO_BLE_CENTRAL_ROLE: (
        "this machine's Bluetooth radio cannot connect to scales",
        "plug in one that speaks Bluetooth LE",
    ),
    BleakBluetoothNotAvailableReason.POWERED_OFF: _OFF,
    BleakBluetoothNotAvailableReason.DENIED_BY_USER: _DENIED,
    BleakBluetoothNotAvailableReason.DENIED_BY_SYSTEM: _DENIED,
    BleakBluetoothNotAvailableReason.DENIED_BY_UNKNOWN: _DENIED,
}
_GONE: Final = ("went away while it was being connected", _NEAR)
_ON_THE_BUS: Final = {
    "org.freedesktop.DBus.Error.UnknownObject": _GONE,
    "org.bluez.Error.NotReady": _OFF,
    "org.freedesktop.DBus.Error.AccessDenied": _DENIED,
    "org.freedesktop.DBus.Error.ServiceUnknown": _NO_SERVICE,
    "org.freedesktop.DBus.Error.NameHasNoOwner": _NO_SERVICE,
    "org.freedesktop.DBus.Error.NoReply": _NO_SERVICE,
}


def not_found(address: str, within_s: float) -> LinkAbsent:
    """The peripheral was not heard."""
    return LinkAbsent(address, f"not found over Bluetooth in {within_s:g} s", _NEAR)


def lost(address: str, reason: str = "the Bluetooth connection was lost") -> LinkLost:
    """An open connection went away."""
    return LinkLost(address, reason, _NEAR)


@contextmanager
def refusal_reported(address: str) -> Iterator[None]:
    """Turn whatever fails inside into LinkRefused."""
    try:
        yield
    except FAILURES as err:
        reason, remedy = _why(err)
        kind = LinkAbsent if remedy == _NEAR else LinkRefused
        raise kind(address, reason, remedy) from err


def _why(err: Exception) -> tuple[str, str]:
    """The reason and the remedy."""
    match err:
        case BleakBluetoothNotAvailableError():
            return _UNAVAILABLE.get(err.reason, _NO_SERVICE)
        case BleakDBusError() if err.dbus_error in _ON_THE_BUS:
            return _ON_THE_BUS[err.dbus_error]
        case BleakDeviceNotFoundError():
            return _GONE
        case TimeoutError():
            return "does not answer over Bluetooth", _NEAR
        case BleakError():
            return f"cannot be connected ({err})", _NEAR
        case _:  # no bus to ask for the service
            return _NO_SERVICE
