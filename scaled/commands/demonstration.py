"""The demo itself: scale, cook, daemon and screen in one event loop."""

from __future__ import annotations

import asyncio
import os
import sys
import tempfile
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from scaled.catalogue import find_profile, parse_source
from scaled.config import Config, config_from_options, journal_in, state_dir
from scaled.core.errors import only_error
from scaled.screens.bench import bench_app
from scaled.screens.client import StationClient
from scaled.screens.lines import follow
from scaled.server.daemon import run_daemon
from simulators.ble_port import ble_port
from simulators.pty_port import PtyPort
from simulators.scale import SimulatedScale
from simulators.scene import Plan, Scene
from simulators.wire import WIRES

if TYPE_CHECKING:
    from collections.abc import AsyncIterator

    from simulators.scale import Port

STATION: Final = "demo"
FORMAT: Final = "ascii-stream"
DIVISION: Final = "1 g"
ADDRESS: Final = "C0:FF:EE:00:00:01"
STALE_S: Final = 3.0
"""A busy machine may hold the simulated scale up for longer than a real one ever pauses."""


@dataclass(frozen=True, kw_only=True)
class Wanted:
    """What is to be seen.

    Attributes:
        profile: Id or file of the dish.
        speed: Simulated seconds in a real one.
        builds: How many dishes the cook makes.
        seed: Which cook.
        ble: The scale is on the air, not on a line.
    """

    profile: str
    speed: float
    builds: int
    seed: int
    ble: bool


@dataclass(frozen=True)
class _Demo:
    wanted: Wanted
    config: Config
    link: Path
    scale: SimulatedScale

    @property
    def address(self) -> str:
        return str(self.config.listen)


def demonstrate(wanted: Wanted, *, watched: bool) -> None:
    """Play a demo to its end and say where its log is.

    Args:
        wanted: What is to be seen.
        watched: Show the cook's screen until it is left; otherwise print lines.

    Raises:
        ScaledError: The profile is wrong, or the records cannot be kept.
    """
    source = find_profile(wanted.profile)
    parse_source(source, wanted.profile)
    plan = Plan(recipe_text=source.text, seed=wanted.seed, division=DIVISION, builds=wanted.builds)
    scene = Scene(plan.pan(), plan.cook(), plan.line())
    scale = SimulatedScale(scene, WIRES[FORMAT](), speed=wanted.speed)
    # Line and socket live in a folder of their own: a socket's path must be short.
    with tempfile.TemporaryDirectory(prefix="scaled-demo-") as name:
        folder = Path(name)
        config = _config(wanted, folder)
        demo = _Demo(wanted, config, folder / "scale", scale)
        try:
            asyncio.run(_play(demo, watched=watched))
        except BaseExceptionGroup as group:
            raise only_error(group) from group
        finally:
            _tell(journal_in(config.state))


def _config(wanted: Wanted, folder: Path) -> Config:
    station = {
        "name": STATION,
        "device": ADDRESS if wanted.ble else str(folder / "scale"),
        "format": FORMAT,
        "division": DIVISION,
        "profile": wanted.profile,
        "stale_s": STALE_S,
    }
    others = {"listen": f"unix:{folder / 'sock'}", "state": str(state_dir() / "demo")}
    return config_from_options(station, others)


async def _play(demo: _Demo, *, watched: bool) -> None:
    ready = asyncio.Event()

    def clock() -> float:
        return demo.scale.t  # and not the wall's: a busy machine plays it more slowly

    async with _port(demo) as port, asyncio.TaskGroup() as tasks:
        tasks.create_task(demo.scale.run(port))
        daemon = tasks.create_task(
            run_daemon(demo.config, clock=clock, ready=lambda _: ready.set())
        )
        await ready.wait()
        await (_watch(demo) if watched else _print(demo))
        daemon.cancel()
        await asyncio.wait([daemon])
        demo.scale.stop()


@asynccontextmanager
async def _port(demo: _Demo) -> AsyncIterator[Port]:
    """The scale's port; that of one on the air is on a simulated radio of this process's own."""
    if demo.wanted.ble:
        async with ble_port(demo.link, FORMAT, ADDRESS) as port:
            os.environ["DBUS_SYSTEM_BUS_ADDRESS"] = port.address
            yield port
    else:
        async with PtyPort(demo.link) as line:
            yield line


async def _watch(demo: _Demo) -> None:
    app = bench_app(demo.address, STATION)
    await app.run_async()
    if app.fault is not None:
        raise app.fault


async def _print(demo: _Demo) -> None:
    await follow(StationClient(demo.address, STATION), sys.stdout, builds=demo.wanted.builds)


def _tell(journal: Path) -> None:
    if journal.exists():
        print(
            f"The log of this demo is {journal}\n"
            f"Export it: scaled records export --format csv --journal {journal}"
        )
