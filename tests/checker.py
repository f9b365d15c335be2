"""A person with test weights at a simulated scale on a real line, as fast as it is heard."""

from __future__ import annotations

import asyncio
import threading
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from typing import TYPE_CHECKING

from scaled.core.checkup import Spot
from scaled.server.daemon import run_daemon
from scaled.station.check_run import CheckingState
from simulators.chance import stream
from simulators.hands import ScriptedHands
from simulators.pan import Pan
from simulators.pty_port import PtyPort
from simulators.scene import Scene
from simulators.wire import WIRES
from tests.core.checked import LEANS

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from scaled.config import Config
    from simulators.pan_make import PanMake

DEADLINE_S = 60
PATIENCE_S = 0.5
"""A scale goes on weighing when nobody hears it, and what was sent too early is never heard."""


class Checker:
    """The scale in a thread of its own, and whoever does what is asked there.

    It weighs as fast as it is heard, and its own time is the time of its readings: a machine that
    is busy makes a check slower and no other.
    """

    def __init__(self, make: PanMake, link: Path) -> None:
        self.hands = ScriptedHands()
        self.pan = Pan(make, stream(1, "pan"))
        self._link = link
        self._scene = Scene(self.pan, self.hands)
        self._wire = WIRES["ascii-stream"]()
        self._t = 0.0
        self._heard = True
        self._plugged, self._over = threading.Event(), threading.Event()
        self._loop: asyncio.AbstractEventLoop | None = None

    def clock(self) -> float:
        """Seconds as the scale counts them, for whoever hears it, who asks at each reading."""
        self._heard = True
        return self._t

    @contextmanager
    def at_work(self) -> Iterator[None]:
        thread = threading.Thread(target=lambda: asyncio.run(self._run()))
        thread.start()
        try:
            assert self._plugged.wait(DEADLINE_S)
            yield
        finally:
            self._over.set()
            thread.join(DEADLINE_S)

    async def _run(self) -> None:
        self._loop = loop = asyncio.get_running_loop()
        async with PtyPort(self._link) as port:
            self._plugged.set()
            said_at = loop.time()
            while not self._over.is_set():
                if port.opened and (self._heard or loop.time() > said_at + PATIENCE_S):
                    self._heard, said_at = False, loop.time()
                    self._t += 1.0 / self.pan.make.rate_hz
                    for shown in self._scene.update(self._t):
                        port.write(self._wire.show(shown))
                await asyncio.sleep(0.001)

    def put(self, load_g: float, spot: Spot = Spot.MIDDLE) -> None:
        assert self._loop is not None
        self._loop.call_soon_threadsafe(self._put, load_g, spot)

    def _put(self, load_g: float, spot: Spot) -> None:
        self.hands.place(load_g)
        self.pan.lean = LEANS[spot]

    def tell(self, news: object) -> None:
        """Do what a check asks."""
        if isinstance(news, CheckingState):
            self.put(0.0) if news.empty else self.put(news.load.load_g, news.load.spot)


@contextmanager
def served(config: Config, clock: Callable[[], float]) -> Iterator[None]:
    """A daemon in a thread of its own, by the time of such a scale; what ends it is raised."""
    ready, over = threading.Event(), threading.Event()

    async def serve() -> None:
        async with asyncio.TaskGroup() as tasks:
            running = tasks.create_task(
                run_daemon(config, clock=clock, ready=lambda _: ready.set())
            )
            running.add_done_callback(lambda _: over.set())
            await asyncio.to_thread(over.wait)
            running.cancel()

    with ThreadPoolExecutor(1, "daemon") as thread:
        daemon = thread.submit(asyncio.run, serve())
        try:
            while not ready.wait(0.01):
                assert not daemon.done(), daemon.exception()
            yield
        finally:
            over.set()
            daemon.result(DEADLINE_S)
