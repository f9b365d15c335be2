"""A station's sessions, with nothing around them but a clock and a pile of entries."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from typing import TYPE_CHECKING

from scaled.core.events import Event, Portion
from scaled.core.profile import parse_profile
from scaled.station.link import LinkState, LinkStatus
from scaled.station.premises import Standard
from scaled.station.sessions import Sessions
from scaled.station.writer import Entry, Happened, Writer
from tests.station.rig import LINK, PROFILE, Time, readings

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from scaled.config import StationConfig
    from scaled.core.command import Command
    from scaled.core.reading import Reading
    from tests.station.rig import Script

CUP_STANDARD = Standard(PROFILE, parse_profile(PROFILE, "lentil-cup.toml"))


def link(state: LinkState, detail: str = "") -> LinkStatus:
    return replace(LINK, state=state, detail=detail)


class Desk:
    """The sessions, and what they gave to be stored."""

    def __init__(self, config: StationConfig, time: Time | None = None) -> None:
        self.time = time or Time()
        self.sessions = Sessions(config, self.time.clocks, "test")
        self.entries: list[Entry] = []

    def hear(self, script: Script) -> None:
        begin_t = self.time.t
        self.listen([replace(r, t=round(begin_t + r.t, 3)) for r in readings(script)])

    def listen(self, heard: Iterable[Reading]) -> None:
        for reading in heard:
            self.time.t = reading.t
            self.sessions.hear(reading)
            self.entries += self.sessions.take()

    def obey(self, command: Command) -> None:
        self.sessions.obey(command)
        self.entries += self.sessions.take()

    @property
    def events(self) -> list[Event]:
        return [e for entry in self.entries if isinstance(entry, Happened) for e in entry.events]

    @property
    def names(self) -> list[str]:
        return [event.event for event in self.events if event.event != "settled"]

    @property
    def portions(self) -> list[str]:
        return [event.step for event in self.events if isinstance(event, Portion)]

    @property
    def stored_readings(self) -> int:
        return sum(len(e.readings) for e in self.entries if isinstance(e, Happened))

    def crash(self, journal: Path) -> None:
        """Store what was to be stored, and nothing more."""

        async def store() -> None:
            async with Writer.open(journal) as writer:
                await writer.write(self.entries)

        asyncio.run(store())
