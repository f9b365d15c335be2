"""The daemon: all stations, the journal and the API of one configuration, until cancelled."""

from __future__ import annotations

import asyncio
import time
from contextlib import suppress
from datetime import UTC, datetime
from functools import partial
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Final

from scaled.address import TcpAddress
from scaled.config import journal_in
from scaled.core.errors import ConfigError, only_error
from scaled.protocol import load_driver
from scaled.server.app import make_app
from scaled.server.house import House
from scaled.server.listen import listening
from scaled.server.serving import serving
from scaled.station.crew import run_stations
from scaled.station.premises import Clocks, Premises
from scaled.station.station import Station
from scaled.station.writer import Writer

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from scaled.config import Config, StationConfig
    from scaled.protocol import Driver
    from scaled.station.state import SessionState

FAREWELL_S: Final = 1.0
"""How long clients may take to read the last state before the line is cut, s."""


def utc_now() -> datetime:
    """The wall clock."""
    return datetime.now(UTC)


async def run_daemon(
    config: Config,
    *,
    clock: Callable[[], float] = time.monotonic,
    now: Callable[[], datetime] = utc_now,
    ready: Callable[[str], None] | None = None,
    goes_on: Callable[[SessionState], None] | None = None,
) -> None:
    """Run until cancelled; then sessions are ended, clients told, and everything is closed.

    Signals are the caller's business.

    Args:
        config: What to run.
        clock: Seconds from any origin, never backwards: the readings' time.
        now: The wall clock, with its offset from UTC.
        ready: Called once with the address, when clients are answered and a first line is open.
        goes_on: Called before that for each session taken up after a crash.

    Raises:
        InputError: The configuration cannot be run; says why.
        LinkRefused: Not one scale's line can be opened.
        JournalError: The journal cannot be opened, or something could not be stored.
    """
    try:
        await _run(config, Clocks(clock, now), ready or _unheard, goes_on or _unheard)
    except BaseExceptionGroup as group:
        raise only_error(group) from group


async def _run(
    config: Config,
    clocks: Clocks,
    ready: Callable[[str], None],
    goes_on: Callable[[SessionState], None],
) -> None:
    drivers, software = await asyncio.to_thread(_installed, config)
    journal = journal_in(config.state)
    async with Writer.open(journal) as writer, listening(config.listen) as (sock, address):
        premises = Premises(writer, journal, config.profiles, clocks, software)
        stations = [
            Station(station, drivers[station.format], premises) for station in config.stations
        ]
        house = House({s.name: s for s in stations}, config.profiles, journal, software)
        app = make_app(house, guarded=isinstance(address, TcpAddress))
        for station in stations:
            taken_up = await station.prepare()
            if taken_up is not None:
                goes_on(taken_up)
        async with serving(app, sock):
            try:
                await run_stations(stations, partial(ready, str(address)))
            finally:
                await _say_farewell(stations)


async def _say_farewell(stations: Sequence[Station]) -> None:
    with suppress(TimeoutError):
        async with asyncio.timeout(FAREWELL_S):
            for station in stations:
                await station.left_alone()


def _unheard(_: object) -> None:
    """Tell nobody."""


def _installed(config: Config) -> tuple[dict[str, Driver], str]:
    """The drivers of the configuration's formats, and the version of this program."""
    _check_lines_differ(config)
    drivers = {station.format: load_driver(station.format) for station in config.stations}
    return drivers, version("scaled-station")


def _check_lines_differ(config: Config) -> None:
    """Find one line under two names before one station finds it busy with the other.

    Raises:
        ConfigError: Two stations have the same line.
    """
    of: dict[str, StationConfig] = {}
    for station in config.stations:
        path = Path(station.device)
        line = str(path.resolve()) if path.exists() else station.device.casefold()
        other = of.setdefault(line, station)
        if other is not station:
            reason = f"leads to the line of {other.name}, {other.device}; give each its own"
            raise ConfigError(station.name, station.device, reason)
