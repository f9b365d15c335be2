"""The journal's one thread: the loop hands it what happened and waits until that is durable."""

from __future__ import annotations

import asyncio
from concurrent.futures import CancelledError, ThreadPoolExecutor
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

from scaled.core.errors import JournalError

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Sequence
    from concurrent.futures import Future
    from datetime import datetime
    from pathlib import Path

    from scaled.core.events import Event
    from scaled.core.reading import Reading
    from scaled.records.check import ScaleCheck
    from scaled.records.journal import Journal, SessionInfo


@dataclass(frozen=True, slots=True)
class Begun:
    """A session began."""

    session: SessionInfo


@dataclass(frozen=True, slots=True)
class Happened:
    """Readings and the events they caused, in order, and when that was."""

    session: str
    events: tuple[Event, ...]
    readings: tuple[Reading, ...]
    at: datetime


@dataclass(frozen=True, slots=True)
class Ended:
    """A session ended."""

    session: str
    at: datetime


@dataclass(frozen=True, slots=True)
class Checked:
    """A scale was checked, and by which readings."""

    check: ScaleCheck
    readings: tuple[Reading, ...]


Entry = Begun | Happened | Ended | Checked


class Writer:
    """Writes to the journal, from any number of stations, in the order asked."""

    def __init__(self, journal: Journal, thread: ThreadPoolExecutor) -> None:
        """Use :meth:`open`."""
        self._journal = journal
        self._thread = thread
        self._failure: JournalError | None = None

    @classmethod
    @asynccontextmanager
    async def open(cls, path: Path) -> AsyncIterator[Self]:
        """The journal at ``path`` open for writing, closed on leaving.

        Raises:
            JournalError: It cannot be opened.
        """
        from scaled.records.journal import Journal  # noqa: PLC0415 -- loads SQLite

        thread = ThreadPoolExecutor(1, "journal")
        opened = thread.submit(Journal.open, path)
        try:
            yield cls(await asyncio.wrap_future(opened), thread)
        finally:
            # Behind all that was asked before, and even if nobody waited for it to open.
            await asyncio.wrap_future(thread.submit(_close, opened))
            thread.shutdown(wait=False)

    async def write(self, entries: Sequence[Entry]) -> None:
        """Store entries in order; they are durable on return.

        Raises:
            JournalError: They could not be stored, now or once before: no gap is ever left.
        """
        await asyncio.wrap_future(self._thread.submit(self._store, tuple(entries)))

    def _store(self, entries: tuple[Entry, ...]) -> None:
        if self._failure is not None:
            raise self._failure
        try:
            for entry in entries:
                self._store_one(entry)
        except JournalError as err:
            self._failure = err
            raise

    def _store_one(self, entry: Entry) -> None:
        match entry:
            case Begun(session=info):
                self._journal.begin(info)
            case Happened(session=session, events=events, readings=readings, at=at):
                self._journal.append(session, events, readings, at)
            case Ended(session=session, at=at):
                self._journal.end(session, at)
            case Checked(check=check, readings=readings):
                self._journal.note_check(check, readings)


def _close(opened: Future[Journal]) -> None:
    with suppress(CancelledError, JournalError):  # told to whoever waited
        opened.result().close()
