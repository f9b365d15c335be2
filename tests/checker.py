"""A person with test weights at a simulated scale on a real line, twenty times as fast."""

from __future__ import annotations

import asyncio
import threading
import time
from contextlib import contextmanager
from typing import TYPE_CHECKING

from scaled.core.checkup import Spot
from scaled.server.daemon import run_daemon
from scaled.station.check_run import CheckingState
from simulators.chance import stream
from simulators.hands import ScriptedHands
from simulators.pan import Pan
from simulators.pty_port import PtyPort
from simulators.scale import SimulatedScale
from simulators.scene import Scene
from simulators.wire import WIRES
from tests.core.checked import LEANS

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from scaled.config import Config
    from simulators.pan_make import PanMake

SPEED = 20.0
DEADLINE_S = 60


def fast_clock() -> float:
    """Seconds as the scale counts them."""
    return SPEED * time.monotonic()


class Checker:
    """The scale in a thread of its own, and whoever does what is asked there."""

    def __init__(self, make: PanMake, link: Path) -> None:
        self.hands = ScriptedHands()
        self.pan = Pan(make, stream(1, "pan"))
        self._link = link
        self._scale = SimulatedScale(
            Scene(self.pan, self.hands), WIRES["ascii-stream"](), speed=SPEED
        )
        self._plugged = threading.Event()

    @contextmanager
    def at_work(self) -> Iterator[None]:
        thread = threading.Thread(target=lambda: asyncio.run(self._run()))
        thread.start()
        try:
            assert self._plugged.wait(DEADLINE_S)
            yield
        finally:
            self._scale.stop()
            thread.join(DEADLINE_S)

    async def _run(self) -> None:
        async with PtyPort(self._link) as port:
            self._plugged.set()
            await self._scale.run(port)

    def put(self, load_g: float, spot: Spot = Spot.MIDDLE) -> None:
        self.hands.place(load_g)
        self.pan.lean = LEANS[spot]

    def tell(self, news: object) -> None:
        """Do what a check asks."""
        if isinstance(news, CheckingState):
            self.put(0.0) if news.empty else self.put(news.load.load_g, news.load.spot)


@contextmanager
def served(config: Config) -> Iterator[None]:
    """A daemon at such a scale, in a thread of its own."""
    ready, loops = threading.Event(), list[asyncio.AbstractEventLoop]()
    tasks = list[asyncio.Task[None]]()

    async def serve() -> None:
        loops.append(asyncio.get_running_loop())
        async with asyncio.TaskGroup() as group:
            tasks.append(
                group.create_task(
                    run_daemon(config, clock=fast_clock, ready=lambda _: ready.set())
                )
            )

    thread = threading.Thread(target=lambda: asyncio.run(serve()))
    thread.start()
    try:
        assert ready.wait(DEADLINE_S)
        yield
    finally:
        loops[0].call_soon_threadsafe(tasks[0].cancel)
        thread.join(DEADLINE_S)
