"""The journal's readers: many at a time, beside the writer, never changing a byte."""

from __future__ import annotations

import sqlite3
from time import sleep
from typing import TYPE_CHECKING, Final, Self

from scaled.core.errors import JournalError
from scaled.records.chain import GENESIS, Finding, Record, chunk_holds, record_hash, verify
from scaled.records.database import MOVE_ASIDE, Stamp, explained, open_reader, read_stamp
from scaled.records.table import SLIM, WHOLE, last_records, select

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

_PAGE: Final = 500
"""Records fetched at once. No statement stays open in between, so that a slow reader never
keeps the writer's log from being folded back into the file."""

_RANGE: Final = f"seq > :after AND seq <= :until ORDER BY seq LIMIT {_PAGE}"
_ALL: Final = f"{WHOLE} WHERE {_RANGE}"
_OF_SESSION: Final = f"{SLIM} WHERE session = :session AND {_RANGE}"
_OF_KIND: Final = f"{SLIM} WHERE kind = :kind AND session = :session AND {_RANGE}"
_CHUNKS: Final = f"{WHOLE} WHERE kind = :kind AND session = :session AND {_RANGE}"
_ONE: Final = f"{SLIM} WHERE seq = :seq"
_LAST: Final = f"{SLIM} WHERE session = :session AND seq <= :until ORDER BY seq DESC LIMIT 1"
_PLACES: Final = "SELECT seq FROM record WHERE kind = ? AND seq BETWEEN 1 AND ? ORDER BY session"
_PAUSES_S: Final = (0.01, 0.1)
LEAST: Final = -(2**63)
"""Below any place that a record slipped in could have."""


class Records:
    """A journal as it stood when it was opened for reading.

    Every record is checked against its hash before it is handed out. All methods, and the
    iterators they return, raise JournalError when the file is damaged or a record was changed
    after it was written.

    Attributes:
        path: The journal.
        count: How many records it has.
        head: Hash of the newest one.
    """

    def __init__(self, path: Path, db: sqlite3.Connection, stamp: Stamp | None) -> None:
        """Use :meth:`open`."""
        self.path = path
        self._db = db
        self._stamp = stamp
        with explained(path):
            newest = last_records(db)
        self.count, self.head = (newest[0].seq, newest[0].hash) if newest else (0, GENESIS)

    @classmethod
    def open(cls, path: Path) -> Self:
        """Open a journal for reading, whether or not a daemon is writing to it.

        Raises:
            JournalError: There is none, or it cannot be read.
        """
        db, stamp = _opened(path)
        try:
            return cls(path, db, stamp)
        except BaseException:
            db.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let the file go; calling it again does nothing."""
        self._db.close()

    def verify(self, noted: str | None = None) -> Finding:
        """Walk the whole chain; see :func:`scaled.records.chain.verify`."""
        with explained(self.path):
            (state,) = self._db.execute("PRAGMA integrity_check(1)").fetchone()
        if state != "ok":
            reason = f"damaged ({' '.join(str(state).split())})"
            raise JournalError(str(self.path), reason, MOVE_ASIDE)
        return verify(self._fetched(_ALL, after=LEAST), noted)

    def places(self, kind: str) -> list[int]:
        """Where the records of one kind are, by session."""
        with explained(self.path):
            places = [seq for (seq,) in self._db.execute(_PLACES, (kind, self.count))]
        self._check_stamp()
        return places

    def at(self, seq: int) -> Record:
        """The record at a place, without its chunk."""
        return self._one(_ONE, {"seq": seq})

    def last_of(self, session: str) -> Record:
        """The newest record of a session that is here, without its chunk."""
        return self._one(_LAST, {"session": session, "until": self.count})

    def of_session(self, session: str, after: int, until: int) -> Iterator[Record]:
        """A session's records beyond one place up to another, without their chunks."""
        return self._checked(_OF_SESSION, session=session, after=after, until=until)

    def of_kind(self, session: str, kind: str) -> Iterator[Record]:
        """A session's records of one kind, in order, without their chunks."""
        return self._checked(_OF_KIND, session=session, kind=kind)

    def with_chunks(self, session: str, kind: str) -> Iterator[Record]:
        """A session's records of one kind, in order, with their chunks."""
        for record in self._checked(_CHUNKS, session=session, kind=kind):
            if not chunk_holds(record):
                raise self._changed(record)
            yield record

    def _one(self, query: str, values: dict[str, str | int]) -> Record:
        (record,) = self._page(query, values)
        self._check(record)
        return record

    def _checked(self, query: str, **values: str | int) -> Iterator[Record]:
        for record in self._fetched(query, **values):
            self._check(record)
            yield record

    def _fetched(self, query: str, **values: str | int) -> Iterator[Record]:
        window: dict[str, str | int] = {"after": 0, "until": self.count}
        window |= values
        while page := self._page(query, window):
            yield from page
            window["after"] = page[-1].seq

    def _page(self, query: str, values: dict[str, str | int]) -> list[Record]:
        with explained(self.path):
            page = select(self._db, query, values)
        self._check_stamp()
        return page

    def _check_stamp(self) -> None:
        """Nothing read is used if a file read without locks changed meanwhile."""
        with explained(self.path):
            changed = self._stamp is not None and self._stamp != read_stamp(self.path)
        if changed:
            reason = "a daemon began to write to it just now"
            raise JournalError(str(self.path), reason, "run this again")

    def _check(self, record: Record) -> None:
        if record_hash(record) != record.hash:
            raise self._changed(record)

    def _changed(self, record: Record) -> JournalError:
        reason = f"record {record.seq} was changed after it was written"
        return JournalError(
            str(self.path), reason, "see what else was with: scaled records verify"
        )


def _opened(path: Path) -> tuple[sqlite3.Connection, Stamp | None]:
    """The journal opened, patient with a daemon that lets go of it at this very moment.

    It then takes away the files beside it, which were there when the way to open it was chosen.
    """
    for pause_s in _PAUSES_S:
        try:
            return open_reader(path)
        except JournalError as err:
            code = getattr(err.__cause__, "sqlite_errorcode", None)
            if code != sqlite3.SQLITE_CANTOPEN:
                raise
        sleep(pause_s)
    return open_reader(path)
