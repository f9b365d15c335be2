"""One peripheral as ``org.bluez`` shows it: a Device1 and, once connected, its GATT objects.

Interfaces as in BlueZ's D-Bus API (org.bluez.Device, org.bluez.GattCharacteristic). The order on
connecting is BlueZ's: connected, answered, services listed, services resolved.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from typing import TYPE_CHECKING, Final, TypeAlias

from dbus_fast import Message

from simulators.gatt import assigned

if TYPE_CHECKING:
    from simulators.bluez_objects import ObjectTree
    from simulators.gatt import Characteristic, Peripheral

DEVICE: Final = "org.bluez.Device1"
SERVICE: Final = "org.bluez.GattService1"
CHARACTERISTIC: Final = "org.bluez.GattCharacteristic1"
_DBUS_ERROR: Final = "org.freedesktop.DBus.Error"
_FAILED: Final = "org.bluez.Error.Failed"
_NOT_SUPPORTED: Final = "org.bluez.Error.NotSupported"

_NEAR_DBM: Final = -50
"""Received strength of a peripheral on the same bench; it says only that it was heard."""
_EVERYWHERE: Final = (assigned(0x1800), assigned(0x1801))
"""Services that all peripherals have; the system lists their numbers and keeps them to itself."""
_KEPT_BYTES: Final = 4096
"""What was written and not taken yet, at most."""


Send: TypeAlias = Callable[[Message], object]


class Device:
    """A peripheral on the air.

    Attributes:
        reachable: Whether the radio can hear it.
        stalled: While set, it stays connected but neither says nor answers anything; over when
            the connection is.
        connected: Whether somebody is connected to it.
        resolve_s: How long its services take to be found after connecting.
    """

    def __init__(self, peripheral: Peripheral, adapter: str) -> None:
        self.reachable = True
        self.stalled = False
        self.resolve_s = 0.0
        self.path = f"{adapter}/dev_{peripheral.address.replace(':', '_')}"
        self._peripheral = peripheral
        self._adapter = adapter
        self._tree: ObjectTree | None = None
        self._paths: dict[str, Characteristic] = {}
        self._notifying: set[str] = set()
        self.connected = False
        self._written = b""
        self._resolving: asyncio.TimerHandle | None = None

    @property
    def heard(self) -> bool:
        """Whether somebody listens to what it says."""
        return bool(self._notifying)

    @property
    def uuids(self) -> list[str]:
        """What it advertises."""
        return [service.uuid for service in self._peripheral.services[:1]]

    def show(self, tree: ObjectTree) -> None:
        """Let the radio that keeps this tree hear it once more; nothing out of its reach.

        Nothing either while somebody is connected: such a peripheral advertises no more.
        """
        if not self.reachable or self.connected:
            return
        self._tree = tree
        if self.path in tree:
            tree.change(self.path, DEVICE, {"RSSI": ("n", _NEAR_DBM)})
            return
        tree.add(
            self.path,
            DEVICE,
            {
                "Address": ("s", self._peripheral.address),
                "AddressType": ("s", "random"),
                "Adapter": ("o", self._adapter),
                "Alias": ("s", self._peripheral.name),
                "Name": ("s", self._peripheral.name),
                "UUIDs": ("as", self.uuids),
                "RSSI": ("n", _NEAR_DBM),
                "Paired": ("b", False),
                "Connected": ("b", False),
                "ServicesResolved": ("b", False),
            },
        )

    def hide(self) -> None:
        """Break off, and let the radio forget it."""
        self.disconnect()
        if self._tree is not None:
            self._tree.remove(self.path)

    def disconnect(self) -> None:
        """End the connection, from either side; nothing when there is none."""
        if self._resolving is not None:
            self._resolving.cancel()
        self._notifying.clear()
        self.stalled = False
        if self.connected and self._tree is not None:
            self.connected = False
            for path in [p for p in self._tree.managed if p.startswith(f"{self.path}/")]:
                self._tree.remove(path)
            down = {"ServicesResolved": ("b", False), "Connected": ("b", False)}
            self._tree.change(self.path, DEVICE, down)

    def say(self, data: bytes) -> None:
        """Send a value to whoever listens, by each characteristic that is listened to."""
        if self._tree is not None and not self.stalled:
            for path in self._notifying:
                self._tree.change(path, CHARACTERISTIC, {"Value": ("ay", data)})

    def take(self) -> bytes:
        """What was written to it since it was asked last."""
        written, self._written = self._written, b""
        return written

    def answer(self, call: Message, send: Send) -> None:
        """Do what a call to the device or one of its characteristics asks, and say so."""
        path = str(call.path)
        if path != self.path and path not in self._paths:
            send(Message.new_error(call, f"{_DBUS_ERROR}.UnknownObject", f"no object {path}"))
            return
        device = {"Connect": self._connect, "Disconnect": self._break_off}
        characteristic = {
            "ReadValue": self._read,
            "WriteValue": self._write,
            "StartNotify": self._notify,
            "StopNotify": self._notify,
        }
        method = (device if path == self.path else characteristic).get(str(call.member))
        if method is None:
            send(Message.new_error(call, f"{_DBUS_ERROR}.UnknownMethod", f"no {call.member}"))
        elif not self.stalled or call.member == "Disconnect":
            method(call, send)

    def _connect(self, call: Message, send: Send) -> None:
        if not self.reachable or self._tree is None:
            send(Message.new_error(call, _FAILED, "Host is down"))
            return
        self.connected = True
        self._tree.change(self.path, DEVICE, {"Connected": ("b", True)})
        send(Message.new_method_return(call))
        loop = asyncio.get_running_loop()
        self._resolving = loop.call_later(self.resolve_s, self._resolve, self._tree)

    def _break_off(self, call: Message, send: Send) -> None:
        send(Message.new_method_return(call))
        self.disconnect()

    def _read(self, call: Message, send: Send) -> None:
        send(Message.new_method_return(call, "ay", [self._paths[str(call.path)].value]))

    def _write(self, call: Message, send: Send) -> None:
        self._written = (self._written + bytes(call.body[0]))[-_KEPT_BYTES:]
        send(Message.new_method_return(call))

    def _notify(self, call: Message, send: Send) -> None:
        path, on = str(call.path), call.member == "StartNotify"
        if not {"notify", "indicate"} & set(self._paths[path].flags):
            send(Message.new_error(call, _NOT_SUPPORTED, "Operation is not supported"))
            return
        if on:
            self._notifying.add(path)
        else:
            self._notifying.discard(path)
        if self._tree is not None:
            self._tree.change(path, CHARACTERISTIC, {"Notifying": ("b", on)})
        send(Message.new_method_return(call))

    def _resolve(self, tree: ObjectTree) -> None:
        handle = 0
        for service in self._peripheral.services:
            handle += 1
            service_path = f"{self.path}/service{handle:04x}"
            about = {"UUID": ("s", service.uuid), "Primary": ("b", True)}
            tree.add(service_path, SERVICE, {**about, "Device": ("o", self.path)})
            for characteristic in service.characteristics:
                handle += 1
                path = f"{service_path}/char{handle:04x}"
                self._paths[path] = characteristic
                about = {"UUID": ("s", characteristic.uuid), "Notifying": ("b", False)}
                flags = {"Flags": ("as", list(characteristic.flags))}
                tree.add(path, CHARACTERISTIC, {**about, **flags, "Service": ("o", service_path)})
        uuids = [*_EVERYWHERE, *(service.uuid for service in self._peripheral.services)]
        known = {"UUIDs": ("as", uuids), "ServicesResolved": ("b", True)}
        tree.change(self.path, DEVICE, known)
