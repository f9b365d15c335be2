"""A cook's screen and the station it shows, over a real socket."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path

from textual.pilot import Pilot

from scaled.screens.bench import BenchApp, bench_app
from tests.screens.eventually import eventually
from tests.screens.fake_station import FakeStation
from tests.screens.scenes import STATES
from tests.screens.stage import text


@dataclass
class Bench:
    """A screen and the station it shows."""

    station: FakeStation
    app: BenchApp
    pilot: Pilot[None]

    def says(self, words: str) -> bool:
        return words in text(self.pilot)

    async def sees(self, words: str) -> None:
        await eventually(lambda: self.says(words))

    async def asked(self, *commands: dict[str, object]) -> None:
        await eventually(lambda: len(self.station.commands) >= len(commands))
        assert self.station.commands == list(commands)


def fake(name: str = "add") -> FakeStation:
    state = STATES[name]
    assert state is not None
    return FakeStation(state)


@asynccontextmanager
async def benched(folder: Path, name: str = "add", *, bell: bool = False) -> AsyncIterator[Bench]:
    """A screen that shows its station's first state."""
    station = fake(name)
    async with station.serving(uds=f"{folder}/s"):
        app = bench_app(f"unix:{folder}/s", bell=bell)
        async with app.run_test(size=(80, 24)) as pilot:
            bench = Bench(station, app, pilot)
            await bench.sees("scale live")
            yield bench
