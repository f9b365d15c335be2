"""A simulated radio with scales around it, where bleak's real BlueZ backend finds them."""

from __future__ import annotations

import asyncio
from contextlib import asynccontextmanager
from typing import TYPE_CHECKING

from bleak.backends.bluezdbus import manager

from simulators.ble_port import peripheral
from simulators.bluez_radio import Radio
from simulators.private_bus import PrivateBus

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable
    from pathlib import Path

    import pytest

    from simulators.bluez_device import Device

ADDRESS = "C0:FF:EE:00:00:01"
DEADLINE_S = 60


class Air:
    """One radio on its bus."""

    def __init__(self, bus: PrivateBus) -> None:
        self.bus = bus
        self.radio = Radio(bus.address)

    def scale(self, format_: str = "weight-scale-service", address: str = ADDRESS) -> Device:
        """Put a scale on the air that says what it is told to."""
        return self.radio.add(peripheral(format_, address))


@asynccontextmanager
async def on_air(folder: Path, monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[Air]:
    """Run a radio where bleak looks for the system's."""
    async with PrivateBus(folder / "bus") as bus:
        monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", bus.address)
        air = Air(bus)
        async with air.radio:
            yield air
            await forget()


async def forget() -> None:
    """End bleak's own connection to the bus, which it keeps for as long as the loop runs."""
    kept = manager._global_instances.pop(asyncio.get_running_loop(), None)
    if kept is not None and kept._bus is not None:
        kept._bus.disconnect()
        if kept._bus_watcher_task is not None:
            await asyncio.wait([kept._bus_watcher_task])


async def until(holds: Callable[[], bool]) -> None:
    """Wait for something to become true."""
    async with asyncio.timeout(DEADLINE_S):
        while not holds():  # noqa: ASYNC110 -- whatever the condition is about
            await asyncio.sleep(0.001)
