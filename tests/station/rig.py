"""A station on a real serial line and a real journal, with a scale that shows what it is told."""

from __future__ import annotations

import asyncio
from contextlib import asynccontextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from scaled.config import StationConfig
from scaled.core.events import Event, Portion
from scaled.core.reading import Reading
from scaled.protocol import load_driver
from scaled.station.link import LinkState, LinkStatus
from scaled.station.premises import Clocks, Premises
from scaled.station.station import Station
from scaled.station.writer import Writer

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable, Iterable, Iterator

    from scaled.station.feed import Feed
    from scaled.station.state import StationState
    from tests.conftest import SerialLine

DEADLINE_S = 60
DRIVER = load_driver("ascii-stream")
NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)

PROFILE = """
schema = 1
id = "lentil-cup"
title = "Lentil cup"
revision = "1"

[container]
name = "paper cup, 300 mL"
tare = "10 g"
tare_tolerance = "2 g"

[[step]]
id = "lentils"
ingredient = "brown lentils, stewed"
target = "120 g"

[[step]]
id = "yogurt"
ingredient = "herb yogurt"
target = "40 g"

[[confirm]]
id = "lid"
ask = "Lid on"
"""

PLACED = PROFILE.replace('target = "120 g"', 'target = "120 g"\nposition = "hot line"').replace(
    'target = "40 g"', 'target = "40 g"\nposition = "cold line"'
)
"""The same, its steps at two positions."""

CUP = [(0.0, 1.0), (10.0, 2.0)]
LENTILS = [(130.0, 2.0)]
YOGURT = [(170.0, 2.0)]
LIFT = [(0.0, 4.0)]
WHOLE_BUILD = [*CUP, *LENTILS, *YOGURT, *LIFT]
"""Weights on the display, g, and for how long, s."""


LINK = LinkStatus(
    t=0.0,
    state=LinkState.LIVE,
    format="ascii-stream",
    device="scale",
    detail="",
    readings=0,
    dropped=0,
    rate_hz=10.0,
)


class Time:
    """A clock that stands still unless it is told to go on, and the wall clock beside it."""

    def __init__(self) -> None:
        self.t = 0.0

    def __call__(self) -> float:
        return self.t

    def now(self) -> datetime:
        return NOON + timedelta(seconds=self.t)

    @property
    def clocks(self) -> Clocks:
        return Clocks(self, self.now)


Script = list[tuple[float, float]]


def frame(weight_g: float, status: str = "ST") -> bytes:
    """One line as the continuous ASCII format has it."""
    return f"{status},GR,+{weight_g:08.2f}  g\r\n".encode()


def frames(script: Script, before_g: float = 0.0) -> Iterator[bytes]:
    """Ten lines a second; each change takes one."""
    for weight_g, seconds in script:
        for i in range(round(10 * seconds)):
            yield frame(weight_g) if i else frame((before_g + weight_g) / 2, "US")
        before_g = weight_g


def readings(script: Script) -> list[Reading]:
    """The same as readings of a stream that just began."""
    decoder = DRIVER.decoder()
    parsed = [decoder.feed(line, (i + 1) / 10) for i, line in enumerate(frames(script))]
    return [reading for (reading,) in parsed if isinstance(reading, Reading)]


async def until(holds: Callable[[], bool]) -> None:
    """Wait for something to become true."""
    async with asyncio.timeout(DEADLINE_S):
        while not holds():  # noqa: ASYNC110 -- whatever the condition is about
            await asyncio.sleep(0.001)


class Watcher:
    """A client that reads all it is given."""

    def __init__(self) -> None:
        self.events: list[Event] = []
        self.states: list[StationState] = []
        self.missed = 0

    async def read(self, feed: Feed) -> None:
        while await feed.wait():
            news = feed.take()
            self.missed += news.missed
            self.events += news.events
            if news.state is not None:
                self.states.append(news.state)

    @property
    def names(self) -> list[str]:
        """What happened, without the many times the pan came to rest."""
        return [event.event for event in self.events if event.event != "settled"]


def portions(events: Iterable[Event]) -> list[str]:
    """Steps whose final word was told, in order."""
    return [event.step for event in events if isinstance(event, Portion)]


class Rig:
    """One station that can be started, watched, and started again on the same journal."""

    def __init__(self, folder: Path, line: SerialLine, time: Time) -> None:
        self.journal = folder / "state" / "journal.db"
        self.profile = folder / "lentil-cup.toml"
        self.profile.write_text(PROFILE, encoding="utf-8")
        self.line = line
        self.driver = DRIVER
        self.time = time
        self.watcher = Watcher()
        self.shown_g = 0.0
        self.config = StationConfig.model_validate(
            {"device": line.device, "format": "ascii-stream", "division": "1 g"}
            | {"profile": str(self.profile), "stale_s": 60.0}
        )

    @asynccontextmanager
    async def station(self) -> AsyncIterator[Station]:
        """Run the station on its journal, watched from its beginning."""
        async with Writer.open(self.journal) as writer, self.station_on(writer) as station:
            yield station

    @asynccontextmanager
    async def station_on(self, writer: Writer) -> AsyncIterator[Station]:
        """Run the station on an open journal."""
        folders = (self.profile.parent,)
        premises = Premises(writer, self.journal, folders, self.time.clocks, "test")
        station = Station(self.config, self.driver, premises)
        await station.prepare()
        await station.open()
        async with asyncio.TaskGroup() as tasks:
            with station.joined() as feed:
                watching = tasks.create_task(self.watcher.read(feed))
                running = tasks.create_task(station.run())
                try:
                    yield station
                finally:
                    running.cancel()
                    await asyncio.wait([running, watching])

    async def show(self, station: Station, script: Script) -> None:
        """Let the scale show weights, ten readings a second of its own time."""
        for line in frames(script, self.shown_g):
            self.time.t = round(self.time.t + 0.1, 3)
            heard = station._link.status.readings
            self.line.say(line)
            await until(lambda: station._link.status.readings > heard)  # noqa: B023
        self.shown_g = script[-1][0]

    async def until_told(self, name: str, count: int = 1) -> None:
        """Wait until clients were told of so many events of that name."""
        await until(lambda: self.watcher.names.count(name) >= count)
