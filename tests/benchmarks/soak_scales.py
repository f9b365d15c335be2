"""Simulated scales whose every weight says whose it is, and what may befall them."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Mapping
from decimal import Decimal
from pathlib import Path
from random import Random
from typing import Final

from simulators.ble_port import BLE_WIRES, BlePort
from simulators.display import Shown, Span
from simulators.pty_port import PtyPort
from simulators.scale import Port
from simulators.wire import WIRES, Wire

RATE_HZ: Final = 20
APART_G: Final = 1000
"""Scale n shows n thousands of grams and less than one thousand more."""
_RISE_G: Final = 20
_RISES: Final = 12
_STAY_S: Final = 2.0
"""It rises in even steps and falls back: so that there is something to weigh."""
SERIAL_FORMATS: Final = tuple(WIRES)
BLE_FORMATS: Final = ("ascii-stream", "weight-scale-service")

Fault = Callable[[], Awaitable[None]]


def owner(weight_g: float) -> int | None:
    """Which scale shows that weight; None: no scale does."""
    number, rest = divmod(round(weight_g), APART_G)
    shown = (
        not rest % _RISE_G and rest < _RISES * _RISE_G and abs(weight_g - round(weight_g)) < 0.1
    )
    return number if shown else None


class MarkedScale:
    """A scale that shows its own weights, whoever listens.

    Attributes:
        silent: While set, it says and answers nothing.
        overloaded: While set, it shows that it has too much on it.
        said: Weights it sent while somebody listened.
    """

    def __init__(self, number: int, wire: Wire, port: Port) -> None:
        self.number = number
        self.port = port
        self.silent = self.overloaded = False
        self.said = 0
        self._wire = wire

    async def run(self) -> None:
        """Weigh until cancelled."""
        loop = asyncio.get_running_loop()
        began = due = loop.time()
        while True:
            due = max(due + 1 / RATE_HZ, loop.time())
            self._weigh(loop.time() - began)
            while loop.time() < due:
                self._send(self._wire.answer(self.port.read()))
                await asyncio.sleep(min(0.02, max(due - loop.time(), 0.0)))

    def _weigh(self, t: float) -> None:
        rise = int(t / _STAY_S) % _RISES
        weight = Decimal(self.number * APART_G + rise * _RISE_G)
        span = Span.ABOVE if self.overloaded else Span.WITHIN
        self._send(self._wire.show(Shown(t, weight, "g", stable=True, span=span)))

    def _send(self, data: bytes) -> None:
        if data and not self.silent:
            self.said += self.port.opened and not self.overloaded
            self.port.write(data)

    def spit(self, rng: Random) -> None:
        """Send noise, then the end of one frame and the beginning of another."""
        frame = self._wire.show(Shown(0.0, Decimal(self.number * APART_G), "g", stable=True))
        frame = frame or b"\x02ST,+"
        self.port.write(rng.randbytes(150) + frame[len(frame) // 2 :] + frame[: len(frame) // 2])


async def hushed(scale: MarkedScale, rng: Random) -> None:
    """Silence, longer or shorter than the station bears."""
    scale.silent = True
    await asyncio.sleep(rng.uniform(0.5, 4.0))
    scale.silent = False


async def overloaded(scale: MarkedScale, rng: Random) -> None:
    """Too much on it for a while."""
    scale.overloaded = True
    await asyncio.sleep(rng.uniform(0.2, 2.0))
    scale.overloaded = False


async def garbled(scale: MarkedScale, rng: Random) -> None:
    """Noise among its frames."""
    for _ in range(rng.randrange(1, 20)):
        scale.spit(rng)
        await asyncio.sleep(0.02)


def serial_scale(number: int, link: Path) -> tuple[str, MarkedScale, PtyPort]:
    """A scale on a line; its format."""
    format_ = SERIAL_FORMATS[number % len(SERIAL_FORMATS)]
    port = PtyPort(link)
    return format_, MarkedScale(number, WIRES[format_](), port), port


def radio_format(number: int) -> str:
    """The format of a scale on the air."""
    return BLE_FORMATS[number % len(BLE_FORMATS)]


def radio_scale(number: int, port: BlePort) -> MarkedScale:
    """A scale on the air."""
    return MarkedScale(number, BLE_WIRES[radio_format(number)](), port)


def serial_faults(scale: MarkedScale, port: PtyPort, rng: Random) -> Mapping[str, Fault]:
    """What may befall a scale on a line; each is over when it returns."""

    async def unplug() -> None:
        await port.unplug()
        await asyncio.sleep(rng.uniform(0.0, 5.0))
        await port.plug()

    async def flap() -> None:
        for _ in range(rng.randrange(2, 8)):
            await port.unplug()
            await asyncio.sleep(rng.uniform(0.0, 0.3))
            await port.plug()
            await asyncio.sleep(rng.uniform(0.0, 0.6))

    return _any_faults(scale, rng) | {"unplug": unplug, "flap": flap}


def radio_faults(scale: MarkedScale, port: BlePort, rng: Random) -> Mapping[str, Fault]:
    """What may befall a scale on the air; each is over when it returns."""

    async def vanish() -> None:
        await port.vanish()
        await asyncio.sleep(rng.uniform(0.0, 5.0))
        await port.appear()

    return _any_faults(scale, rng) | {
        "drop": port.drop,
        "vanish": vanish,
        "hang": port.hang,
        "garble": port.garble,
    }


def _any_faults(scale: MarkedScale, rng: Random) -> dict[str, Fault]:
    return {
        "silence": lambda: hushed(scale, rng),
        "garbage": lambda: garbled(scale, rng),
        "overload": lambda: overloaded(scale, rng),
    }


async def swap(ports: tuple[PtyPort, PtyPort], rng: Random) -> None:
    """Unplug two and plug them in the other way round: each gets the number the other had."""
    for port in ports:
        await port.unplug()
    await asyncio.sleep(rng.uniform(0.0, 1.0))
    for port in reversed(ports):
        await port.plug()
