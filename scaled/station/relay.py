"""Carries word between the stations of one daemon of builds that go from scale to scale."""

from __future__ import annotations

import asyncio
from contextlib import suppress
from typing import TYPE_CHECKING

from scaled.core.errand import errands
from scaled.core.errors import CommandRefused

if TYPE_CHECKING:
    from collections.abc import Sequence

    from scaled.station.station import Station


async def relay(stations: Sequence[Station]) -> None:
    """Tell each station which builds may come to it, until all of them have ended.

    Raises:
        JournalError: In a group: what a station was told could not be stored.
    """
    news = asyncio.Event()
    news.set()  # a build may have been on its way when the stations stopped
    async with asyncio.TaskGroup() as tasks:
        running = tasks.create_task(_run(stations, news))
        async with asyncio.TaskGroup() as listening:
            for station in stations:
                listening.create_task(_listen(station, news))
        running.cancel()


async def _listen(station: Station, news: asyncio.Event) -> None:
    """Builds leave and come with an event; a new session knows of none."""
    session = None
    with station.joined() as feed:
        while await feed.wait():
            heard = feed.take()
            began = heard.state is not None and heard.state.session != session
            if heard.events or heard.missed or began:
                news.set()
            if heard.state is not None:
                session = heard.state.session


async def _run(stations: Sequence[Station], news: asyncio.Event) -> None:
    while True:
        await news.wait()
        news.clear()
        sides = {station: station.on_line for station in stations}
        by_session = {side.session: station for station, side in sides.items() if side}
        for session, command in errands([side for side in sides.values() if side]):
            with suppress(CommandRefused):  # it has changed meanwhile: there will be news
                await by_session[session].command(command, session)
