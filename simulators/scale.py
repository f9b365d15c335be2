"""The simulated scale in real time: plays a scene onto a port."""

from __future__ import annotations

import asyncio
import math
from typing import Final, Protocol

from simulators.scene import Scene
from simulators.wire import Wire

_TICK_S: Final = 0.01
"""How often requests are looked for: a poll is answered well within a reading interval."""
_MOST_OWED: Final = 2
"""Readings that a late timer may owe; after more, time goes on from where it was: no flood of old
readings, and on a slow machine a slower scale."""


class PortError(Exception):
    """A port cannot be made or used; ``str()`` says why."""


class Port(Protocol):
    """Where a scale's bytes go and requests come from."""

    @property
    def opened(self) -> bool:
        """Whether anybody has the other end open."""
        ...

    def write(self, data: bytes) -> None:
        """Send bytes without ever waiting."""
        ...

    def read(self) -> bytes:
        """Bytes that came, without waiting for any."""
        ...


class SimulatedScale:
    """A scale that weighs in real time.

    Attributes:
        scene: What happens at it; with a :class:`simulators.hands.CookHands`, its ``builds``
            tell the truth of it.
        t: How long it has weighed, in its own time, s.
        silent: While set, it sends and answers nothing, as when its battery is out.
        done: Set once the hands are done, or :meth:`stop` was called.
    """

    def __init__(self, scene: Scene, wire: Wire, speed: float = 1.0) -> None:
        """Set it up; time stands still until somebody opens its port.

        Args:
            scene: Hands, pan and line.
            wire: How it talks.
            speed: Simulated seconds in one real second, above 0.
        """
        self.scene = scene
        self.silent = False
        self.done = asyncio.Event()
        self._wire = wire
        self._speed = speed
        self.t = self._owed_s = 0.0
        self._stopped = False

    def pause(self) -> None:
        """Let the hands finish the movement under way and then rest; readings go on."""
        self.scene.hands.paused = True

    def go(self) -> None:
        """Let the hands go on."""
        self.scene.hands.paused = False

    def stop(self) -> None:
        """Let :meth:`run` return soon."""
        self._stopped = True
        self.done.set()

    async def run(self, port: Port) -> None:
        """Weigh until :meth:`stop` is called, also after the hands are done.

        Unplugging the port stops neither time nor hands: what is sent meanwhile is lost.
        """
        loop = asyncio.get_running_loop()
        self._switch_on()
        last: float | None = None
        while not self._stopped:
            await asyncio.sleep(self._until_next_s())
            now = loop.time()
            if last is not None:
                self._go_on((now - last) * self._speed)
                self._play(port)
            if last is not None or port.opened:
                last = now

    def _switch_on(self) -> None:
        """Have a first reading to answer with before anybody asks."""
        self.t = 1.0 / self.scene.pan.make.rate_hz
        for shown in self.scene.update(self.t):
            self._wire.show(shown)

    def _until_next_s(self) -> float:
        """Real time until a reading falls due or requests must be looked for."""
        return min(max(self._due_in_s - self._owed_s, 0.0) / self._speed, _TICK_S)

    @property
    def _due_in_s(self) -> float:
        """Its own time until the next reading."""
        rate_hz = self.scene.pan.make.rate_hz
        return (math.floor(self.t * rate_hz + 1e-9) + 1) / rate_hz - self.t

    def _go_on(self, for_s: float) -> None:
        """Let time pass, but not beyond the next reading: who listens hears one at a time."""
        most_s = _MOST_OWED / self.scene.pan.make.rate_hz
        self._owed_s = min(self._owed_s + for_s, most_s)
        step_s = min(self._owed_s, self._due_in_s)
        self.t += step_s
        self._owed_s -= step_s

    def _play(self, port: Port) -> None:
        sent = [self._wire.show(shown) for shown in self.scene.update(self.t)]
        sent.append(self._wire.answer(port.read()))
        if not self.silent:
            for data in filter(None, sent):
                port.write(data)
        if self.scene.hands.done:
            self.done.set()
