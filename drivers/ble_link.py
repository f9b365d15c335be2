"""A Bluetooth LE connection as a link, over bleak: one message a read.

Neither a hung scale nor a Bluetooth service that died is told of by the system. A link that hears
nothing for a while therefore asks the scale something it must answer; without an answer, or
anything to ask, it is lost, and the station looks for the scale anew.
"""

from __future__ import annotations

import asyncio
import logging
from collections import deque
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, TypeAlias

from bleak import BleakClient

from drivers.ble_claim import Claim
from drivers.ble_refusal import FAILURES, lost, refusal_reported
from drivers.ble_scan import find_peripheral
from scaled.core.errors import LinkRefused
from scaled.protocol import by_radio

if TYPE_CHECKING:
    from collections.abc import Callable

    from bleak.backends.characteristic import BleakGATTCharacteristic
    from bleak.backends.device import BLEDevice
    from bleak.backends.service import BleakGATTServiceCollection

_KEPT: Final = 1024
"""Messages kept while nobody reads: some 20 s of the fastest scale's; older ones are dropped."""

# It warns of what is no fault, a missing command-line tool, and of what the station says itself.
logging.getLogger("bleak").setLevel(logging.ERROR)


@dataclass(frozen=True, slots=True)
class Channel:
    """Where in a peripheral a scale talks.

    Attributes:
        hear: What it notifies or indicates by.
        speak: What requests are written to; None: it takes none.
        ask: What it must answer when it is read; None: there is nothing to ask.
        step_g: From what it answers, the smallest step that it shows, g; None: it does not say.
    """

    hear: BleakGATTCharacteristic
    speak: BleakGATTCharacteristic | None = None
    ask: BleakGATTCharacteristic | None = None
    step_g: Callable[[bytes], float | None] | None = None


@dataclass(frozen=True, slots=True)
class Patience:
    """How long is waited, s.

    Attributes:
        found: For a scale to be heard: one that saves power advertises every few seconds.
        connected: For a connection and the list of services: seconds on a poor link.
        said: For a message, before the scale is asked whether it is there.
        answered: For that answer.
        taken: For a request to be taken.
    """

    found: float = 10.0
    connected: float = 20.0
    said: float = 5.0
    answered: float = 3.0
    taken: float = 0.5


Choose: TypeAlias = "Callable[[BleakGATTServiceCollection], Channel | None]"
"""Finds a scale's channel among a peripheral's services; None when it has none."""

PATIENCE: Final = Patience()


async def open_ble_link(
    address: str, choose: Choose, service: str, patience: Patience = PATIENCE
) -> BleLink:
    """Find a peripheral, connect to it and listen.

    Args:
        address: Its Bluetooth address.
        choose: Finds what to listen to.
        service: What a peripheral without it lacks, for the error.
        patience: How long to wait for what.

    Raises:
        LinkRefused: No address, another program's, no radio, not heard, not connected, or not such
            a scale.
    """
    if not by_radio(address):
        remedy = "write six pairs such as C0:FF:EE:00:00:01"
        raise LinkRefused(address, "not a Bluetooth address", remedy)
    claim = Claim(address)
    try:
        await asyncio.to_thread(claim.take)
        with refusal_reported(address):
            device = await find_peripheral(address, patience.found)
            link = BleLink(address, device, patience, claim)
            await _connect(link, choose, service)
    except BaseException:
        await asyncio.to_thread(claim.release)
        raise
    return link


async def _connect(link: BleLink, choose: Choose, service: str) -> None:
    try:
        await link.connect(choose, service)
    except BaseException:
        await link.close()
        raise


class BleLink:
    """A connection; see :class:`scaled.protocol.Link`. Made by :func:`open_ble_link`."""

    def __init__(self, address: str, device: BLEDevice, patience: Patience, claim: Claim) -> None:
        """Nothing is connected yet; ``address`` names it in errors."""
        self.step_g: float | None = None
        self._address = address
        self._patience = patience
        self._claim = claim
        self._client = BleakClient(device, self._hang_up, timeout=patience.connected)
        self._channel: Channel | None = None
        self._heard: deque[bytes] = deque(maxlen=_KEPT)
        self._stirred = asyncio.Event()
        self._heard_at = 0.0
        self._asked_at: float | None = None
        self._over = False

    async def connect(self, choose: Choose, service: str) -> None:
        """Connect and listen, once; raises LinkRefused without the service, and bleak's errors."""
        await self._client.connect()
        self._channel = channel = choose(self._client.services)
        if channel is None:
            remedy = "check the address, or choose the format that the scale speaks"
            raise LinkRefused(self._address, f"has no {service}", remedy)
        self._heard_at = asyncio.get_running_loop().time()
        async with asyncio.timeout(self._patience.connected):
            if channel.ask is not None and channel.step_g is not None:
                self.step_g = channel.step_g(bytes(await self._client.read_gatt_char(channel.ask)))
            await self._client.start_notify(channel.hear, self._hear)

    async def read(self) -> bytes:
        """The next message, in order; raises LinkLost."""
        while not self._heard:
            if self._over:
                raise lost(self._address)
            self._stirred.clear()
            try:
                async with asyncio.timeout_at(self._heard_at + self._patience.said):
                    await self._stirred.wait()
            except TimeoutError:
                await self._ask()
        return self._heard.popleft()

    async def write(self, data: bytes) -> None:
        """Send a request, dropping it when it is not taken soon; raises LinkLost."""
        if self._over:
            raise lost(self._address)
        if self._channel is None or self._channel.speak is None:
            return
        try:
            async with asyncio.timeout(self._patience.taken):
                await self._client.write_gatt_char(self._channel.speak, data)
        except TimeoutError:
            return
        except FAILURES as err:
            raise lost(self._address) from err

    async def close(self) -> None:
        """End the connection; calling it again does nothing."""
        self._hang_up(self._client)
        # Also when it ended by itself: bleak keeps a bus connection until it is told.
        with suppress(*FAILURES):
            await self._client.disconnect()
        await asyncio.to_thread(self._claim.release)

    async def _ask(self) -> None:
        """Have the silent scale answer, which counts as a word of it; raises LinkLost.

        A caller that has no patience may cancel this and read again: the answer is due at the
        same time as before.
        """
        ask = self._channel.ask if self._channel else None
        if ask is None:
            raise lost(self._address, f"said nothing for {self._patience.said:g} s")
        loop = asyncio.get_running_loop()
        self._asked_at = asked_at = self._asked_at or loop.time()
        try:
            async with asyncio.timeout_at(asked_at + self._patience.answered):
                await self._client.read_gatt_char(ask)
        except FAILURES as err:
            raise lost(self._address, "no longer answers over Bluetooth") from err
        self._heard_at, self._asked_at = loop.time(), None

    def _hear(self, _: BleakGATTCharacteristic, data: bytearray) -> None:
        if data:
            self._heard.append(bytes(data))
            self._heard_at, self._asked_at = asyncio.get_running_loop().time(), None
            self._stirred.set()

    def _hang_up(self, _: BleakClient) -> None:
        """The connection has ended, by whoever's doing."""
        self._over = True
        self._stirred.set()
