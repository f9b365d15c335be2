"""A machine's Bluetooth radio as programs see it: the ``org.bluez`` service on a bus.

What BlueZ's D-Bus API asks of one adapter that scans and connects (org.bluez.Adapter); the
peripherals around it are :class:`simulators.bluez_device.Device`.
"""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, Final, Self

from dbus_fast import Message, MessageType
from dbus_fast.aio import MessageBus

from simulators.bluez_device import Device
from simulators.bluez_objects import ObjectTree
from simulators.bus_outbox import Outbox

if TYPE_CHECKING:
    from types import TracebackType

    from simulators.gatt import Peripheral

BLUEZ: Final = "org.bluez"
ADAPTER: Final = "org.bluez.Adapter1"
ADAPTER_PATH: Final = "/org/bluez/hci0"
_ADAPTER_ADDRESS: Final = "C0:FF:EE:00:00:00"
FIND_S: Final = 0.02
"""How soon after a scan began something is heard: peripherals advertise many times a second."""


class Radio:
    """The service; running while its ``async with`` block runs, unless :meth:`stop` is called.

    Attributes:
        bus_address: The bus it is on.
        allowed: Unless set, every request is refused, as to a user without the right to it.
        find_s: How soon after a scan began something is heard, s.
    """

    def __init__(self, bus_address: str) -> None:
        """Nothing runs yet."""
        self.allowed = True
        self.find_s = FIND_S
        self.bus_address = bus_address
        self._bus: MessageBus | None = None
        self._outbox: Outbox | None = None
        self._powered = True
        self._devices: list[Device] = []
        self._tree = ObjectTree(self._send)
        self._scanning: set[str] = set()
        self._filters: dict[str, list[str]] = {}
        """UUIDs looked for, by who scans; none: anything."""
        self._finding: asyncio.TimerHandle | None = None

    async def __aenter__(self) -> Self:
        """Start."""
        await self.start()
        return self

    async def __aexit__(
        self,
        kind: type[BaseException] | None,
        err: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Stop."""
        await self.stop()

    def add(self, peripheral: Peripheral) -> Device:
        """Put a peripheral within its reach."""
        device = Device(peripheral, ADAPTER_PATH)
        self._devices.append(device)
        self._look_around()
        return device

    async def start(self) -> None:
        """Come onto the bus; nothing when it is there."""
        if self._bus is not None:
            return
        bus = MessageBus(bus_address=self.bus_address)
        await bus.connect()
        bus.add_message_handler(self._handle)
        await bus.request_name(BLUEZ)
        self._bus, self._outbox = bus, Outbox(bus)
        self._tree.add(
            ADAPTER_PATH,
            ADAPTER,
            {
                "Address": ("s", _ADAPTER_ADDRESS),
                "Powered": ("b", self._powered),
                "Discovering": ("b", False),
                "Roles": ("as", ["central", "peripheral"]),
            },
        )

    async def stop(self) -> None:
        """Leave the bus at once, as a service that was killed; nothing when it is gone."""
        bus, self._bus, self._outbox = self._bus, None, None
        if self._finding is not None:
            self._finding.cancel()
        for device in self._devices:
            device.hide()
        self._tree.remove(ADAPTER_PATH)
        self._end_scans()
        if bus is not None:
            bus.disconnect()
            await bus.wait_for_disconnect()  # type: ignore[no-untyped-call]

    def power(self, on: bool) -> None:
        """Switch the radio on or off, which breaks all connections and ends all scans."""
        self._powered = on
        if not on:
            self._end_scans()
            for device in self._devices:
                device.hide()
        self._tree.change(ADAPTER_PATH, ADAPTER, {"Powered": ("b", on)})

    def unplug(self) -> None:
        """Take the radio out of the machine; the service stays, with nothing to use."""
        self.power(False)
        self._tree.remove(ADAPTER_PATH)

    def hear(self, device: Device) -> None:
        """Have a device within reach again; whoever scans finds it."""
        device.reachable = True
        self._look_around()

    def _send(self, message: Message) -> None:
        if self._outbox is not None:
            self._outbox.send(message)

    def _handle(self, call: Message) -> bool:
        """Answer a call; whether it was one."""
        if call.message_type is not MessageType.METHOD_CALL:
            return False
        path = str(call.path)
        if not self.allowed:
            self._refuse(call, "org.freedesktop.DBus.Error.AccessDenied", "Rejected message")
        elif call.member == "GetManagedObjects":
            tree = self._tree.managed
            self._send(Message.new_method_return(call, "a{oa{sa{sv}}}", [tree]))
        elif path == ADAPTER_PATH:
            self._scan(call)
        elif device := self._device_at(path):
            device.answer(call, self._send)
        else:
            self._refuse(call, "org.freedesktop.DBus.Error.UnknownObject", f"no {path}")
        return True

    def _device_at(self, path: str) -> Device | None:
        """The device that is shown there or above, if one is."""
        for device in self._devices:
            if device.path in self._tree and f"{path}/".startswith(f"{device.path}/"):
                return device
        return None

    def _scan(self, call: Message) -> None:
        if not self._powered:
            self._refuse(call, "org.bluez.Error.NotReady", "Resource Not Ready")
            return
        sender = str(call.sender)
        match call.member:
            case "SetDiscoveryFilter":
                wanted = call.body[0].get("UUIDs")
                self._filters[sender] = list(wanted.value) if wanted else []
            case "StartDiscovery" if sender in self._scanning:
                self._refuse(call, "org.bluez.Error.InProgress", "Operation already in progress")
                return
            case "StartDiscovery":
                self._scanning.add(sender)
                self._look_around()
            case "StopDiscovery":
                self._scanning.discard(sender)
        self._tree.change(ADAPTER_PATH, ADAPTER, {"Discovering": ("b", bool(self._scanning))})
        self._send(Message.new_method_return(call))

    def _refuse(self, call: Message, error: str, text: str) -> None:
        self._send(Message.new_error(call, error, text))

    def _end_scans(self) -> None:
        self._scanning.clear()
        self._filters.clear()

    def _look_around(self) -> None:
        if self._scanning:
            loop = asyncio.get_running_loop()
            self._finding = loop.call_later(self.find_s, self._find)

    def _find(self) -> None:
        filters = [self._filters.get(sender, []) for sender in self._scanning]
        for device in self._devices:
            if any(not uuids or set(uuids) & set(device.uuids) for uuids in filters):
                device.show(self._tree)
