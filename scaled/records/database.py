"""The journal's file: the two ways to open it, and what can go wrong with it.

The writer holds a lock file beside it and keeps it in write-ahead mode, synchronous FULL.
Readers open it so that SQLite neither creates nor changes a byte, whatever state it is in.
"""

from __future__ import annotations

import errno
import fcntl
import os
import sqlite3
from contextlib import contextmanager
from typing import TYPE_CHECKING, Final
from urllib.parse import quote

from scaled.core.errors import JournalBusy, JournalError
from scaled.records.table import (
    APPLICATION_ID,
    INDEX,
    MARKS,
    SCHEMA_VERSION,
    TABLE,
    TRIGGERS,
)

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

_FREE_SPACE = "free some space, then start again: what was recorded is kept"
MOVE_ASIDE: Final = "keep a copy, then move it aside or put a good copy in its place"
_ELSEWHERE = "move it aside, or name another journal"
_NOT_WRITABLE = ("its folder is not writable", "change its permissions, or use another folder")
_HELD = ("another program holds it", "close that program")
_BY_CODE: Final = {
    sqlite3.SQLITE_NOTADB: ("not a journal of this program", _ELSEWHERE),
    sqlite3.SQLITE_CORRUPT: ("damaged", MOVE_ASIDE),
    sqlite3.SQLITE_FULL: ("the disk is full", _FREE_SPACE),
    sqlite3.SQLITE_IOERR: ("the disk does not take or give the data", "check the disk"),
    sqlite3.SQLITE_READONLY: ("cannot be written", "check who owns it and its permissions"),
    sqlite3.SQLITE_CANTOPEN: ("cannot be opened", "check that it is a file you may use"),
    sqlite3.SQLITE_BUSY: _HELD,
    sqlite3.SQLITE_LOCKED: _HELD,
    sqlite3.SQLITE_PROTOCOL: _HELD,
}
_BY_ERRNO: Final = {
    errno.ENOSPC: ("the disk is full", _FREE_SPACE),
    errno.EDQUOT: ("the disk quota is used up", _FREE_SPACE),
    errno.EACCES: _NOT_WRITABLE,
    errno.EPERM: _NOT_WRITABLE,
    errno.EROFS: _NOT_WRITABLE,
    errno.ENOTDIR: ("not inside a folder", "name another place"),
    errno.EEXIST: ("not inside a folder", "name another place"),
}

_OWNER_ONLY: Final = 0o600
"""It says who portioned what; SQLite gives the files beside the journal the same mode."""


@contextmanager
def explained(path: Path) -> Iterator[None]:
    """Turn the errors of SQLite and of the file system into one line about this journal.

    Raises:
        JournalError: Whatever went wrong inside.
    """
    try:
        yield
    except sqlite3.Error as err:
        code = getattr(err, "sqlite_errorcode", None)
        if code is None:  # the sqlite3 module's own complaint about how we call it
            raise
        reason, remedy = _BY_CODE.get(code & 0xFF, ("damaged", MOVE_ASIDE))
        said = "".join(char if char.isprintable() else " " for char in str(err))
        raise JournalError(str(path), f"{reason} ({said})", remedy) from err
    except UnicodeDecodeError as err:  # SQLite's message quotes a schema that is no text
        raise JournalError(str(path), "damaged (in its schema)", MOVE_ASIDE) from err
    except OSError as err:
        other = (f"cannot be used ({err.strerror})", "use another folder")
        raise JournalError(str(path), *_BY_ERRNO.get(err.errno or 0, other)) from err


def take_lock(path: Path) -> int:
    """Become the journal's one writer until the returned file descriptor is closed.

    The system lets the lock go when the process ends, however it ends.

    Raises:
        JournalBusy: Another daemon is the writer.
    """
    # Whoever can open the lock can hold it: nobody but the owner is to stop the daemon.
    lock = os.open(_beside(path, ".lock"), os.O_RDWR | os.O_CREAT, _OWNER_ONLY)
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError as err:
        os.close(lock)
        reason = "another daemon is writing to it"
        raise JournalBusy(str(path), reason, "stop that one, or use another folder") from err
    return lock


def open_writer(path: Path) -> sqlite3.Connection:
    """Open the journal for writing and create it when there is none.

    To be called inside :func:`explained`, by the holder of the lock.

    Raises:
        JournalError: Not a journal, or not one this program can write.
    """
    if not path.exists():
        os.close(os.open(path, os.O_RDWR | os.O_CREAT, _OWNER_ONLY))
    db = _connect(path, "mode=rw")
    try:
        if not _is_blank(db):
            check_ours(db, path)
            _check_rules(db, path)
        # Only now: a file that is not ours is left as it is.
        _make_durable(db, path)
        _create_if_blank(db)
    except BaseException:
        db.close()
        raise
    return db


Stamp = tuple[int, int]
"""Size and time of last change of a file, bytes and ns."""


def read_stamp(path: Path) -> Stamp:
    """What tells whether the journal's file has changed."""
    status = path.stat()
    return status.st_size, status.st_mtime_ns


def open_reader(path: Path) -> tuple[sqlite3.Connection, Stamp | None]:
    """Open the journal for reading only, whether or not a daemon is writing to it.

    Returns:
        The connection, and the file's stamp when no daemon has it open: SQLite then reads it
        without locks, and the caller must see for itself that it stays unchanged.

    Raises:
        JournalError: There is none, it is not a journal, or its log cannot be read.
    """
    if not (os.access(path, os.R_OK) and path.is_file()):
        remedy = "start the station once, or name another with --journal"
        raise JournalError(str(path), "no journal here that can be read", remedy)
    index, log = _beside(path, "-shm"), _beside(path, "-wal")
    stamp = None if index.exists() else read_stamp(path)
    if stamp and log.exists() and log.stat().st_size:
        remedy = f"put {index.name} beside it too, or start the station on it once"
        raise JournalError(str(path), f"its newest records are in {log.name} alone", remedy)
    with explained(path):
        db = _connect(path, "mode=ro&immutable=1" if stamp else "mode=ro&readonly_shm=1")
        try:
            check_ours(db, path)
        except BaseException:
            db.close()
            raise
    return db, stamp


def check_ours(db: sqlite3.Connection, path: Path) -> None:
    """Make sure that this is a journal, of a schema known here.

    Raises:
        JournalError: It is not.
    """
    if _pragma(db, "application_id") != APPLICATION_ID:
        raise JournalError(str(path), "not a journal of this program", _ELSEWHERE)
    version = _pragma(db, "user_version")
    if version > SCHEMA_VERSION:
        reason = f"written by a newer version of this program (schema {version})"
        raise JournalError(str(path), reason, "update this program")
    if version != SCHEMA_VERSION:
        raise JournalError(str(path), f"damaged (no schema {version} exists)", MOVE_ASIDE)
    # A table that only looks like ours could hide records from every query.
    if _made(db, "table", "index") != {TABLE, INDEX}:
        raise JournalError(str(path), "damaged (its table is not as it was made)", MOVE_ASIDE)


def _check_rules(db: sqlite3.Connection, path: Path) -> None:
    """Make sure that what is written stays: reading can do without, to find what was done.

    Raises:
        JournalError: A trigger or view is missing, or is not ours and could swallow records.
    """
    if _made(db, "trigger", "view") != set(TRIGGERS):
        raise JournalError(str(path), "damaged (its rules are not as they were made)", MOVE_ASIDE)


def _made(db: sqlite3.Connection, *kinds: str) -> set[str | None]:
    """The statements by which the schema's things of some kinds were made."""
    made = db.execute("SELECT type, sql FROM sqlite_master")
    return {sql for kind, sql in made if kind in kinds}


def is_part(path: Path, other: Path) -> bool:
    """Whether another file is the journal, or one that SQLite or the lock keeps beside it."""
    return other.resolve() in {_beside(path, end) for end in ("", "-wal", "-shm", ".lock")}


def _beside(path: Path, ending: str) -> Path:
    """A file that goes with the journal; where a link leads counts, as SQLite does it."""
    real = path.resolve()
    return real.with_name(real.name + ending)


def _connect(path: Path, how: str) -> sqlite3.Connection:
    # The caller's one-thread executor, or a server's pool, decides which thread calls.
    db = sqlite3.connect(
        f"file:{quote(os.fsencode(path.absolute()))}?{how}",
        uri=True,
        isolation_level=None,
        check_same_thread=False,
    )
    # A damaged file may hold bytes that are no text: kept as they are, for the hash to tell.
    db.text_factory = lambda raw: raw.decode("utf-8", "surrogateescape")
    return db


def _is_blank(db: sqlite3.Connection) -> bool:
    """Whether nothing was ever stored: a new file, or one whose creation was cut short."""
    tables = db.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
    return not tables and _pragma(db, "application_id") == 0


def _make_durable(db: sqlite3.Connection, path: Path) -> None:
    """See to it that what was committed survives a crash and a power cut."""
    mode = db.execute("PRAGMA journal_mode = WAL").fetchone()[0]
    if mode != "wal":
        reason = "this disk cannot keep a write-ahead log"
        raise JournalError(str(path), reason, "use a folder on a local disk")
    db.execute("PRAGMA synchronous = FULL")
    db.execute("PRAGMA fullfsync = ON")  # macOS: a plain fsync may stop at the drive's cache


def _create_if_blank(db: sqlite3.Connection) -> None:
    db.execute("BEGIN IMMEDIATE")
    # The marks are set in any case: that finds out whether the file can be written.
    for statement in (TABLE, INDEX, *TRIGGERS, *MARKS) if _is_blank(db) else MARKS:
        db.execute(statement)
    db.execute("COMMIT")


def _pragma(db: sqlite3.Connection, name: str) -> int:
    return int(db.execute(f"PRAGMA {name}").fetchone()[0])
