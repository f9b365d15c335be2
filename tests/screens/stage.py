"""Puts a moment on the cook's screen without any station, and reads the screen."""

from __future__ import annotations

import asyncio
import math
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager
from dataclasses import replace

from rich.segment import Segment
from textual.pilot import Pilot

from scaled.screens.bench import BenchApp
from scaled.screens.client import StationClient, Update
from scaled.screens.scene import Scene
from scaled.screens.wire import StateMessage


class SilentClient(StationClient):
    """A client whose station never says anything."""

    def __init__(self) -> None:
        super().__init__("unix:/nowhere/station.sock")

    async def watch(self, show: Callable[[Update], bool | None]) -> None:
        await asyncio.Event().wait()


@asynccontextmanager
async def staged(scene: Scene, size: tuple[int, int]) -> AsyncIterator[Pilot[None]]:
    """The cook's screen at that moment; left by closing it."""
    client = SilentClient()
    client.recipe = scene.recipe
    app = BenchApp(client, bell=False)
    async with app.run_test(size=size) as pilot:
        bench = app.bench
        if scene.state is not None:
            bench.take(StateMessage(type="state", state=scene.state))
        if scene.checked is not None:
            bench._follower.scene = replace(bench._follower.scene, checked=scene.checked)
        if scene.away is not None:
            bench.take(scene.away)
        bench._quiet_s = -math.inf  # nor is any news missed
        bench.draw()
        await drawn(pilot)
        yield pilot


async def drawn(pilot: Pilot[None]) -> None:
    """Wait until all that was to be drawn is: until nothing changes any more.

    A size that a widget is given, and what it then draws, take a round each; that the process
    does nothing for a while says little where others keep the processor from it.
    """
    await pilot.pause()
    before = ""
    while (now := text(pilot)) != before:
        before = now
        await pilot.pause(0.0)


def segments(pilot: Pilot[None]) -> Iterator[list[Segment]]:
    """Every row of the screen as styled pieces of text."""
    for strip in pilot.app.screen._compositor.render_strips():
        yield list(strip)


def text(pilot: Pilot[None]) -> str:
    """The screen as plain text, without colours or any other style."""
    rows = ("".join(piece.text for piece in row).rstrip() for row in segments(pilot))
    return "\n".join(rows) + "\n"
