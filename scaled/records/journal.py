"""The journal's one writer: an event is durable here before any screen shows it as final."""

from __future__ import annotations

import os
from contextlib import ExitStack
from typing import TYPE_CHECKING, Final, Self

from scaled.core.errors import JournalError
from scaled.records.body import (
    SESSION_ENDED,
    SESSION_STARTED,
    Draft,
    draft_check,
    draft_end,
    draft_event,
    draft_readings,
    draft_start,
)
from scaled.records.chain import GENESIS, Record, record_hash, seal
from scaled.records.database import MOVE_ASIDE, explained, open_writer, take_lock
from scaled.records.session import SessionInfo, instant_text
from scaled.records.table import insert, last_records

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Sequence
    from datetime import datetime
    from pathlib import Path

    from scaled.core.events import Event
    from scaled.core.reading import Reading
    from scaled.records.check import ScaleCheck

__all__ = ["Journal", "SessionInfo"]  # whoever writes needs both

_BOUNDS: Final = "SELECT kind FROM record WHERE session = ? AND kind IN (?, ?)"


class Journal:
    """An append-only journal open for writing; blocking, to be called from one thread at a time.

    When a call raises JournalError nothing of it was stored, and what was stored before stays.
    """

    def __init__(
        self, path: Path, db: sqlite3.Connection, head: tuple[int, str], closing: ExitStack
    ) -> None:
        """Use :meth:`open`."""
        self._path = path
        self._db = db
        self._seq, self._hash = head
        self._closing = closing

    @classmethod
    def open(cls, path: Path) -> Self:
        """Open the journal, creating folder and file when absent.

        Raises:
            JournalError: The folder cannot be written, the file is no journal, is damaged, is of
                a newer schema, or has another daemon writing to it; or the disk is full.
        """
        with ExitStack() as stack, explained(path):
            path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            stack.callback(os.close, take_lock(path))
            db = open_writer(path)
            stack.callback(db.close)
            head = _read_head(db, path)
            return cls(path, db, head, stack.pop_all())

    def begin(self, session: SessionInfo) -> None:
        """Record that a session begins.

        Raises:
            JournalError: It could not be stored.
            ValueError: A session of that name was begun before.
        """
        if self._bounds(session.session):
            raise ValueError(f"the session {session.session} was begun before")
        self._store(session.session, [draft_start(session)], session.started_at)

    def append(
        self, session: str, events: Sequence[Event], readings: Sequence[Reading], at: datetime
    ) -> None:
        """Record what happened since the last call, all or nothing; durable on return.

        Args:
            session: A session that was begun and has not ended.
            events: In order.
            readings: The readings since the last call, oldest first, those included that caused
                the events.
            at: When, with its offset from UTC.

        Raises:
            JournalError: It could not be stored.
            ValueError: The session is not open.
        """
        self._check_open(session)
        drafts = [draft_readings(readings)] if readings else []
        drafts += [draft_event(event) for event in events]
        if drafts:
            self._store(session, drafts, at)

    def end(self, session: str, at: datetime) -> None:
        """Record that a session has ended.

        Raises:
            JournalError: It could not be stored.
            ValueError: The session is not open.
        """
        self._check_open(session)
        self._store(session, [draft_end()], at)

    def note_check(self, check: ScaleCheck, readings: Sequence[Reading]) -> None:
        """Record a check of a scale and the readings it was made from.

        Raises:
            JournalError: It could not be stored.
        """
        drafts = [draft_readings(readings)] if readings else []
        self._store(check.check, [*drafts, draft_check(check)], check.checked_at)

    def close(self) -> None:
        """Close the file and let another writer in; calling it again does nothing."""
        self._closing.close()

    def _bounds(self, session: str) -> set[str]:
        """Which of its beginning and its end a session has."""
        with explained(self._path):
            rows = self._db.execute(_BOUNDS, (session, SESSION_STARTED, SESSION_ENDED))
            return {kind for (kind,) in rows}

    def _check_open(self, session: str) -> None:
        if self._bounds(session) != {SESSION_STARTED}:
            raise ValueError(f"the session {session} is not open")

    def _store(self, session: str, drafts: list[Draft], at: datetime) -> None:
        records = self._chained(session, drafts, instant_text(at))
        with explained(self._path):
            self._db.execute("BEGIN IMMEDIATE")
            try:
                if insert(self._db, records) != len(records):  # as a foreign trigger can do
                    raise JournalError(str(self._path), "does not take records", MOVE_ASIDE)
                self._db.execute("COMMIT")
            finally:
                if self._db.in_transaction:
                    self._db.execute("ROLLBACK")
        self._seq, self._hash = records[-1].seq, records[-1].hash

    def _chained(self, session: str, drafts: list[Draft], recorded_at: str) -> list[Record]:
        records: list[Record] = []
        previous = self._hash
        for seq, draft in enumerate(drafts, self._seq + 1):
            record = Record(
                seq=seq,
                session=session,
                build=draft.build,
                t=draft.t,
                recorded_at=recorded_at,
                kind=draft.kind,
                body=draft.body,
                previous=previous,
                chunk=draft.chunk,
            )
            records.append(seal(record))
            previous = records[-1].hash
        return records


def _read_head(db: sqlite3.Connection, path: Path) -> tuple[int, str]:
    """Place and hash of the newest record, once it is seen to hold."""
    newest = last_records(db)
    if not newest:
        return 0, GENESIS
    before = newest[1].hash if len(newest) > 1 else GENESIS
    if newest[0].previous != before or newest[0].hash != record_hash(newest[0]):
        reason = f"damaged (record {newest[0].seq} does not match its hash)"
        raise JournalError(str(path), reason, MOVE_ASIDE)
    return newest[0].seq, newest[0].hash
