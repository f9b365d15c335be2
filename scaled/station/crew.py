"""All stations of one daemon at work: each for itself, so that one's trouble stops no other."""

from __future__ import annotations

import asyncio
import logging
from typing import TYPE_CHECKING, Final

from scaled.core.errors import LinkRefused, ScaledError
from scaled.station.relay import relay

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from scaled.station.station import Station

_LOG: Final = logging.getLogger(__name__)


async def run_stations(stations: Sequence[Station], ready: Callable[[], None]) -> None:
    """Run stations that were prepared until cancelled, and carry word between them.

    A line that cannot be opened is tried again and again while another one works. A station that
    a bug stops says so and stays stopped; the others go on.

    Args:
        stations: At least one.
        ready: Called once, when the first line is open.

    Raises:
        LinkRefused: In a group: not one line can be opened; the first station's reason.
        JournalError: In a group: something could not be stored.
    """
    crew = _Crew(stations, ready)
    async with asyncio.TaskGroup() as tasks:
        for station in stations:
            tasks.create_task(crew.attend(station))
        tasks.create_task(relay(stations))


class _Crew:
    def __init__(self, stations: Sequence[Station], ready: Callable[[], None]) -> None:
        self._ready = ready
        self._at_work = len(stations)
        self._refusals: dict[Station, LinkRefused | None] = dict.fromkeys(stations)
        self._untried = len(stations)
        self._begun = asyncio.Event()

    async def attend(self, station: Station) -> None:
        """Open a station's line and run it."""
        try:
            await self._open(station)
            await station.run()
        except Exception as err:
            # The supervisor: a bug met by one scale's bytes must not take the others' cooks along.
            if self._at_work == 1 or _concerns_all(err):
                raise
            self._at_work -= 1
            _LOG.exception("%s: stopped by a fault of this program", station.name)
            station.give_up("stopped by a fault of this program; start it again")
        finally:
            await station.close()

    async def _open(self, station: Station) -> None:
        """Open its line or, if that is refused, wait until another one was opened."""
        try:
            await station.open()
        except LinkRefused as err:
            self._refusals[station] = err
        else:
            self._begin()
        self._untried -= 1
        if not self._untried and not self._begun.is_set():
            raise next(err for err in self._refusals.values() if err is not None)
        await self._begun.wait()

    def _begin(self) -> None:
        if not self._begun.is_set():
            self._begun.set()
            self._ready()


def _concerns_all(err: BaseException) -> bool:
    """Whether it was raised on purpose, for the daemon to end by."""
    if isinstance(err, BaseExceptionGroup):
        return any(_concerns_all(inner) for inner in err.exceptions)
    return isinstance(err, ScaledError)
