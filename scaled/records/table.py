"""The one table: its schema, and records to rows and back."""

from __future__ import annotations

from dataclasses import astuple
from typing import TYPE_CHECKING, Any, Final

from scaled.records.chain import Record

if TYPE_CHECKING:
    import sqlite3
    from collections.abc import Iterable, Mapping

APPLICATION_ID: Final = 0x53434C44
"""Marks the file as ours; "SCLD" in ASCII (SQLite file format, offset 68)."""
SCHEMA_VERSION: Final = 1

TABLE: Final = """CREATE TABLE record (
    seq INTEGER PRIMARY KEY,
    session TEXT NOT NULL,
    build INTEGER NOT NULL,
    t REAL,
    recorded_at TEXT NOT NULL,
    kind TEXT NOT NULL,
    body TEXT NOT NULL,
    previous TEXT NOT NULL,
    hash TEXT NOT NULL,
    chunk BLOB
)"""
INDEX: Final = "CREATE INDEX record_by_kind ON record (kind, session)"
TRIGGERS: Final = (
    """CREATE TRIGGER record_stays BEFORE DELETE ON record
    BEGIN SELECT RAISE(ABORT, 'records are never deleted'); END""",
    """CREATE TRIGGER record_holds BEFORE UPDATE ON record
    BEGIN SELECT RAISE(ABORT, 'records are never changed'); END""",
)
MARKS: Final = (
    f"PRAGMA application_id = {APPLICATION_ID}",
    f"PRAGMA user_version = {SCHEMA_VERSION}",
)

# Both in the order of Record's fields.
_INSERT: Final = "INSERT INTO record VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
_SELECT: Final = (
    "SELECT seq, session, build, t, recorded_at, kind, body, previous, hash, {chunk} FROM record "
)
WHOLE: Final = _SELECT.format(chunk="chunk")
"""Selects records with their chunks; a WHERE clause is to follow."""
SLIM: Final = _SELECT.format(chunk="NULL")
"""Selects records without their chunks; a WHERE clause is to follow."""


def insert(db: sqlite3.Connection, records: Iterable[Record]) -> int:
    """Store records inside the open transaction; how many were taken."""
    return db.executemany(_INSERT, map(astuple, records)).rowcount


def select(db: sqlite3.Connection, query: str, values: Mapping[str, Any]) -> list[Record]:
    """The records that a query beginning with :data:`WHOLE` or :data:`SLIM` finds."""
    return [Record(*row) for row in db.execute(query, values)]


def last_records(db: sqlite3.Connection) -> list[Record]:
    """The newest record and the one before it, newest first; fewer when there are not two."""
    return select(db, SLIM + "ORDER BY seq DESC LIMIT 2", {})
