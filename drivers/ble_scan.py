"""Listening for Bluetooth LE peripherals: one scan for all who seek one at the same time.

BlueZ lets a program scan once at a time and refuses the second try, so scales that are opened or
come back together share a scan.
"""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING
from weakref import WeakKeyDictionary

from bleak import BleakAdapter, BleakScanner

from drivers.ble_refusal import not_found

if TYPE_CHECKING:
    from bleak.backends.device import BLEDevice
    from bleak.backends.scanner import AdvertisementData


async def find_peripheral(address: str, within_s: float) -> BLEDevice:
    """The peripheral with that address once it is heard.

    One that is still connected, as after a program that was killed, advertises no more: when
    nothing was heard it is taken as it is. Not before: of a service that died the library goes
    on to believe that it is connected.

    Raises:
        LinkAbsent: It is not heard in that time.
        BleakError: There is no radio to listen with; so are other ``ble_refusal.FAILURES``.
    """
    loop = asyncio.get_running_loop()
    found = await _SCANS.setdefault(loop, _Scan()).find(address.upper(), within_s)
    found = found or await _still_connected(address.upper())
    if found is None:
        raise not_found(address, within_s)
    return found


async def _still_connected(address: str) -> BLEDevice | None:
    adapter = await BleakAdapter.get()
    connected = await adapter.get_connected_devices()
    return next((each for each in connected if each.address.upper() == address), None)


async def peripherals_near(within_s: float) -> list[tuple[BLEDevice, AdvertisementData]]:
    """All peripherals heard in that time, with what they say of themselves.

    Raises:
        BleakError: As :func:`find_peripheral`.
    """
    return await _SCANS.setdefault(asyncio.get_running_loop(), _Scan()).listen(within_s)


class _Scan:
    """The scan of one event loop; on while somebody seeks."""

    def __init__(self) -> None:
        self._sought: list[tuple[str, asyncio.Future[BLEDevice]]] = []
        self._scanner: BleakScanner | None = None
        self._switching = asyncio.Lock()

    async def find(self, address: str, within_s: float) -> BLEDevice | None:
        found: asyncio.Future[BLEDevice] = asyncio.get_running_loop().create_future()
        seeker = (address, found)
        self._sought.append(seeker)
        try:
            await self._begin(found, address)
            async with asyncio.timeout(within_s):
                return await found
        except TimeoutError:
            return None
        finally:
            self._sought.remove(seeker)
            await self._end()

    async def listen(self, within_s: float) -> list[tuple[BLEDevice, AdvertisementData]]:
        nobody: asyncio.Future[BLEDevice] = asyncio.get_running_loop().create_future()
        seeker = ("", nobody)
        self._sought.append(seeker)
        try:
            await self._begin(nobody, "")
            await asyncio.sleep(within_s)
            if self._scanner is None:
                return []
            return list(self._scanner.discovered_devices_and_advertisement_data.values())
        finally:
            self._sought.remove(seeker)
            await self._end()

    async def _begin(self, found: asyncio.Future[BLEDevice], address: str) -> None:
        async with self._switching:
            if self._scanner is None:
                scanner = BleakScanner(self._hear)
                await scanner.start()
                self._scanner = scanner
            for device in self._scanner.discovered_devices:  # it may not be told of twice
                if device.address.upper() == address and not found.done():
                    found.set_result(device)

    async def _end(self) -> None:
        async with self._switching:
            if self._scanner is not None and not self._sought:
                scanner, self._scanner = self._scanner, None
                await scanner.stop()

    def _hear(self, device: BLEDevice, _: AdvertisementData) -> None:
        for address, found in self._sought:
            if device.address.upper() == address and not found.done():
                found.set_result(device)


_SCANS: WeakKeyDictionary[asyncio.AbstractEventLoop, _Scan] = WeakKeyDictionary()
