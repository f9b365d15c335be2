from __future__ import annotations

import asyncio
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from typing import TYPE_CHECKING, NoReturn

import pytest

from scaled.core.errors import JournalError
from scaled.core.events import Noted
from scaled.core.reading import Reading
from scaled.records.journal import Journal, SessionInfo
from scaled.station.writer import Begun, Ended, Happened, Writer

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

AT = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
INFO = SessionInfo(
    session="20261125T120000000Z-line-1",
    station="line-1",
    badge=None,
    profile_text="",
    profile_id="x",
    profile_revision="1",
    format="ascii-stream",
    device="scale",
    division_g=1.0,
    started_at=AT,
    software="test",
)


def noted(t: float) -> Happened:
    event = Noted(t=t, build=0, text="x")
    return Happened(INFO.session, (event,), (Reading(t, 1.0),), AT)


def kinds(journal: Path) -> list[str]:
    with closing(sqlite3.connect(journal)) as db:
        return [kind for (kind,) in db.execute("SELECT kind FROM record ORDER BY seq")]


async def test_entries_are_stored_in_the_order_asked(tmp_path: Path) -> None:
    journal = tmp_path / "journal.db"
    async with Writer.open(journal) as writer:
        await asyncio.gather(
            writer.write([Begun(INFO), noted(1.0)]),
            writer.write([noted(2.0)]),
            writer.write([Ended(INFO.session, AT)]),
        )
        stored = await asyncio.to_thread(kinds, journal)
    assert stored == ["session_started", *["readings", "noted"] * 2, "session_ended"]


async def test_the_journal_is_free_again_afterwards(tmp_path: Path) -> None:
    for _ in range(2):
        async with Writer.open(tmp_path / "journal.db"):
            pass


async def test_one_journal_has_one_writer(tmp_path: Path) -> None:
    journal = tmp_path / "journal.db"
    async with Writer.open(journal):
        with pytest.raises(JournalError, match="another daemon is writing to it; stop that one"):
            async with Writer.open(journal):
                pass


async def test_after_a_failure_nothing_is_stored_any_more(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What comes after a gap would say that nothing happened in it."""
    journal = tmp_path / "journal.db"
    async with Writer.open(journal) as writer:
        await writer.write([Begun(INFO)])
        full = JournalError("journal.db", "the disk is full", "free some space")
        with monkeypatch.context() as patched:
            patched.setattr(Journal, "append", raising(full))
            with pytest.raises(JournalError, match="the disk is full"):
                await writer.write([noted(1.0)])
        with pytest.raises(JournalError, match="the disk is full"):
            await writer.write([noted(2.0)])
        assert await asyncio.to_thread(kinds, journal) == ["session_started"]


async def test_cancelled_while_it_opens_nothing_stays_open(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    journal = tmp_path / "journal.db"
    opening, go_on = asyncio.Event(), asyncio.Event()
    loop, slow = asyncio.get_running_loop(), Journal.open

    def slowly(path: Path) -> Journal:
        loop.call_soon_threadsafe(opening.set)
        asyncio.run_coroutine_threadsafe(go_on.wait(), loop).result()
        return slow(path)

    async def use() -> None:
        async with Writer.open(journal):
            pytest.fail("it was cancelled before it was open")

    monkeypatch.setattr(Journal, "open", slowly)
    async with asyncio.TaskGroup() as tasks:
        using = tasks.create_task(use())
        await opening.wait()
        using.cancel()
        go_on.set()
    monkeypatch.undo()
    async with Writer.open(journal):
        pass


def raising(err: Exception) -> Callable[..., NoReturn]:
    def fail(*_: object) -> NoReturn:
        raise err

    return fail
