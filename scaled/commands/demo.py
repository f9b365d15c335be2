"""``scaled demo``: the whole station on a simulated scale and cook."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    import argparse
    from pathlib import Path

    from scaled.config import Config
    from simulators.pty_port import PtyPort
    from simulators.scale import SimulatedScale

PROFILE: Final = "winter-barley-bowl"
FORMAT: Final = "ascii-stream"
DIVISION: Final = "1 g"
WATCHED_SPEED: Final = 1.0
"""On a screen a build takes as long as in a kitchen."""
PRINTED_SPEED: Final = 6.0
"""Without a terminal nobody wants to wait."""
FASTEST: Final = 20.0
"""Faster than this the event loop's own jitter would show in the weights."""
STALE_S: Final = 3.0


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command's options."""
    parser = commands.add_parser(
        "demo",
        help="see it work on a simulated scale and cook",
        description="Run the whole station on a simulated scale and an invented cook: the daemon, "
        "its journal and the cook's screen, or lines of text without a terminal. Needs no scale.",
        epilog="Example: scaled demo --profile millstone-flatbread --speed 2",
    )
    parser.add_argument("--profile", default=PROFILE, metavar="ID|FILE", help="what is built")
    parser.add_argument("--builds", type=int, default=3, metavar="N", help="default: 3")
    parser.add_argument(
        "--speed", type=float, metavar="X", help="times faster than a kitchen; default: 1, or 6"
        " without a terminal",
    )  # fmt: skip
    parser.add_argument(
        "--seed", type=int, default=1, metavar="N", help="another cook; default: 1"
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Run the demo.

    Raises:
        ScaledError: A value is wrong, or the records cannot be kept.
    """
    import asyncio  # noqa: PLC0415

    from scaled.core.errors import only_error  # noqa: PLC0415
    from scaled.screens.terminal import on_terminal  # noqa: PLC0415

    watched = on_terminal()
    demo = _demo(args, watched=watched)
    try:
        asyncio.run(_play(demo, watched=watched))
    except BaseExceptionGroup as group:
        raise only_error(group) from group
    finally:
        if demo.journal.exists():
            print(
                f"The log of this demo is {demo.journal}\n"
                f"Export it: scaled records export --format csv --journal {demo.journal}"
            )
    return 0


@dataclass(frozen=True)
class Demo:
    """What is to be played.

    Attributes:
        recipe: Text of the build profile.
        config: The station's configuration.
        journal: Where it keeps its records.
        link: Path of the simulated scale's line.
        speed: Simulated seconds in a real one.
        builds: How many dishes the cook makes.
        seed: Which cook.
    """

    recipe: str
    config: Config
    journal: Path
    link: Path
    speed: float
    builds: int
    seed: int


def _demo(args: argparse.Namespace, *, watched: bool) -> Demo:
    import tempfile  # noqa: PLC0415
    from pathlib import Path  # noqa: PLC0415

    from scaled.catalogue import find_profile  # noqa: PLC0415
    from scaled.config import config_from_options, journal_in, state_dir  # noqa: PLC0415
    from scaled.core.errors import ConfigError  # noqa: PLC0415
    from scaled.core.profile import parse_profile  # noqa: PLC0415

    speed = args.speed or (WATCHED_SPEED if watched else PRINTED_SPEED)
    if not 0 < speed <= FASTEST:
        raise ConfigError("--speed", "", f"must be more than 0 and at most {FASTEST:g}")
    if args.builds < 1:
        raise ConfigError("--builds", "", "must be 1 or more")
    source = find_profile(args.profile)
    parse_profile(source.text, source.where)
    # Line and socket live in a folder of their own: a socket's path must be short.
    folder = Path(tempfile.mkdtemp(prefix="scaled-demo-"))
    link = folder / "scale"
    state = state_dir() / "demo"
    station = {
        "name": "demo",
        "device": str(link),
        "format": FORMAT,
        "division": DIVISION,
        "profile": args.profile,
        "stale_s": STALE_S * speed,
    }
    others = {"listen": f"unix:{folder / 'station.sock'}", "state": str(state)}
    config = config_from_options(station, others)
    return Demo(source.text, config, journal_in(state), link, speed, args.builds, args.seed)


async def _play(demo: Demo, *, watched: bool) -> None:
    """Scale, cook, daemon and screen in one loop, until the cook or the watcher is done."""
    import asyncio  # noqa: PLC0415
    import shutil  # noqa: PLC0415

    from simulators.pty_port import PtyPort  # noqa: PLC0415

    scale = _scale(demo)
    try:
        async with PtyPort(demo.link) as port:
            await _run_all(demo, scale, port, watched=watched)
    finally:
        await asyncio.to_thread(shutil.rmtree, demo.link.parent, ignore_errors=True)


async def _run_all(demo: Demo, scale: SimulatedScale, port: PtyPort, *, watched: bool) -> None:
    import asyncio  # noqa: PLC0415
    import time  # noqa: PLC0415

    from scaled.server.daemon import run_daemon  # noqa: PLC0415

    started = time.monotonic()
    ready = asyncio.Event()

    def clock() -> float:
        return (time.monotonic() - started) * demo.speed

    async with asyncio.TaskGroup() as tasks:
        playing = tasks.create_task(scale.run(port))
        serving = tasks.create_task(
            run_daemon(demo.config, clock=clock, ready=lambda _: ready.set())
        )
        await ready.wait()
        if watched:
            await _watch(demo)
        else:
            await _print(demo)
        serving.cancel()
        await asyncio.wait([serving])
        scale.stop()
        await playing


async def _watch(demo: Demo) -> None:
    from scaled.screens.bench import bench_app  # noqa: PLC0415

    app = bench_app(str(demo.config.listen), "demo")
    await app.run_async()
    if app.fault is not None:
        raise app.fault


async def _print(demo: Demo) -> None:
    import sys  # noqa: PLC0415

    from scaled.screens.client import StationClient  # noqa: PLC0415
    from scaled.screens.lines import follow  # noqa: PLC0415

    client = StationClient(str(demo.config.listen), "demo")
    await follow(client, sys.stdout, builds=demo.builds)


def _scale(demo: Demo) -> SimulatedScale:
    from simulators.scale import SimulatedScale  # noqa: PLC0415
    from simulators.scene import Plan, Scene  # noqa: PLC0415
    from simulators.wire import WIRES  # noqa: PLC0415

    plan = Plan(recipe_text=demo.recipe, seed=demo.seed, division=DIVISION, builds=demo.builds)
    scene = Scene(plan.pan(), plan.cook(), plan.line())
    return SimulatedScale(scene, WIRES[FORMAT](), speed=demo.speed)
