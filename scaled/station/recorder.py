"""Between a station and its clients: what is final reaches them only after it is stored.

While the journal is busy, newer readings wait together and are stored in one go, so the scale is
never held up.
"""

from __future__ import annotations

import asyncio
from dataclasses import replace
from typing import TYPE_CHECKING

from scaled.core.errors import CommandRefused, JournalError
from scaled.station.feed import Feeds
from scaled.station.writer import Happened

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from scaled.station.state import StationState
    from scaled.station.writer import Entry, Writer


class Recorder:
    """Stores what happened at one station, then shows it.

    ``run`` is one task's whole work, until ``finish``.

    Attributes:
        shown: The station as it was shown to clients last.
        feeds: The clients'.
    """

    def __init__(self, writer: Writer, journal: Path, shown: StationState) -> None:
        """Nothing happened yet."""
        self.shown = shown
        self.feeds = Feeds()
        self._writer = writer
        self._journal = journal
        self._over = False
        self._failure: JournalError | None = None
        self._wake = asyncio.Event()
        self._stored = asyncio.Event()
        self._recorded = asyncio.Event()

    def wake(self) -> None:
        """Something happened that may have to be stored or shown."""
        self._wake.set()

    async def run(
        self, take: Callable[[], Sequence[Entry]], look: Callable[[], StationState]
    ) -> None:
        """Store and show what happened, again and again, until all is over.

        Args:
            take: What is to be stored by now.
            look: How the station stands.

        Raises:
            JournalError: Something could not be stored; it was not shown either.
        """
        complete = False
        try:
            while not complete:
                await self._wake.wait()
                self._wake.clear()
                over = self._over
                await self._commit(take(), look())
                complete = over
        except JournalError as err:
            self._failure = err
            raise
        finally:
            if not complete:
                self._tell_failure()
            self._stored.set()
            self._recorded.set()
            self.feeds.end()

    async def finish(self) -> None:
        """Nothing happens any more: return once all of it is stored, or cannot be."""
        self._over = True
        self._wake.set()
        await self._recorded.wait()

    async def settle(self) -> None:
        """Wait until what happened up to now is stored and shown.

        Raises:
            JournalError: It could not be stored.
        """
        stored = self._stored
        self._wake.set()
        await stored.wait()
        if self._failure is not None:
            raise self._failure

    def check_running(self, command: str) -> None:
        """Make sure that what a command does can still be stored.

        Raises:
            CommandRefused: It cannot.
        """
        if self._over or self._failure is not None:
            raise CommandRefused(command, "the station is stopping; start it again")

    def give_up(self, fault: str) -> None:
        """Show why the station stopped."""
        self._show(replace(self.shown, fault=fault))

    def _tell_failure(self) -> None:
        """Let nobody take for stored what is not, whatever the reason."""
        unforeseen = JournalError(
            str(self._journal), "no longer written to", "start the station again"
        )
        self._failure = self._failure or unforeseen
        self.give_up(str(self._failure))

    async def _commit(self, entries: Sequence[Entry], state: StationState) -> None:
        """Store what is due, then show how things stood when it was taken."""
        stored, self._stored = self._stored, asyncio.Event()
        try:
            if entries:
                await self._writer.write(entries)
            for entry in entries:
                if isinstance(entry, Happened):
                    self.feeds.tell(entry.events)
            self._show(state)
        finally:
            stored.set()

    def _show(self, state: StationState) -> None:
        self.shown = state
        self.feeds.show(state)
