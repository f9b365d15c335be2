from __future__ import annotations

import sqlite3
import subprocess
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from scaled.core.errors import JournalError
from scaled.core.events import Noted, Portion
from scaled.records.journal import Journal, SessionInfo
from scaled.records.reader import Records

AT = datetime(2026, 11, 4, 10, 15, 30, 250_000, tzinfo=UTC)

StartDaemon = Callable[[Path, str], subprocess.Popen[str]]


def rows(path: Path) -> list[tuple[object, ...]]:
    """Rows as another program sees them."""
    with closing(sqlite3.connect(path)) as db:
        return db.execute("SELECT seq, kind, build, t, recorded_at FROM record").fetchall()


def test_record_is_there_after_a_kill_right_after_append(
    path: Path, start_daemon: StartDaemon
) -> None:
    daemon = start_daemon(
        path,
        "journal = Journal.open(path)\n"
        "journal.begin(info)\n"
        "journal.append(info.session, events, readings, at)\n"
        "os.kill(os.getpid(), signal.SIGKILL)\n",
    )

    assert daemon.wait(60) == -9
    with Records.open(path) as records:
        assert records.count == 9
        assert records.verify().problems == ()
    Journal.open(path).close()
    with Records.open(path) as records:
        assert records.count == 9
        assert records.verify().problems == ()


def test_nothing_half_written_after_a_kill_before_the_commit(
    path: Path, start_daemon: StartDaemon
) -> None:
    daemon = start_daemon(
        path,
        "journal = Journal.open(path)\n"
        "journal.begin(info)\n"
        "insert = module.insert\n"
        "def cut_short(db, records):\n"
        "    insert(db, records)\n"
        "    os.kill(os.getpid(), signal.SIGKILL)\n"
        "module.insert = cut_short\n"
        "journal.append(info.session, events, readings, at)\n",
    )

    assert daemon.wait(60) == -9
    Journal.open(path).close()
    with Records.open(path) as records:
        assert records.count == 1
        assert records.verify().problems == ()


def test_full_disk_stores_nothing_and_keeps_what_was_stored(
    journal: Journal, path: Path, info: SessionInfo, portion: Portion
) -> None:
    journal.begin(info)
    # SQLite's own limit on the size of the file: the very error of a full disk.
    pages = journal._db.execute("PRAGMA page_count").fetchone()[0]
    journal._db.execute(f"PRAGMA max_page_count = {pages}")
    notes = [Noted(t=1.0, build=1, text="x" * 9000) for _ in range(9)]

    with pytest.raises(JournalError) as caught:
        journal.append(info.session, notes, [], AT)
    assert str(caught.value) == (
        f"{path}: the disk is full (database or disk is full); free some space, then start"
        " again: what was recorded is kept"
    )
    assert len(rows(path)) == 1

    journal._db.execute("PRAGMA max_page_count = 100000")
    journal.append(info.session, [portion], [], AT)
    with Records.open(path) as records:
        assert (records.count, records.verify().problems) == (2, ())


def test_refused_writes_store_nothing_and_keep_what_was_stored(
    path: Path, start_daemon: StartDaemon
) -> None:
    daemon = start_daemon(
        path,
        "journal = Journal.open(path)\n"
        "journal.begin(info)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (65536, 65536))\n"
        "count = 0\n"
        "try:\n"
        "    while True:\n"
        "        journal.append(info.session, events, readings, at)\n"
        "        count += 1\n"
        "except JournalError as err:\n"
        "    print(err)\n"
        "print(count, flush=True)\n"
        "os.kill(os.getpid(), signal.SIGKILL)\n",
    )

    error, count = daemon.communicate(timeout=60)[0].splitlines()
    assert error == f"{path}: the disk does not take or give the data (disk I/O error); " + (
        "check the disk"
    )
    assert int(count) > 0
    Journal.open(path).close()
    with Records.open(path) as records:
        assert records.count == 1 + 8 * int(count)
        assert records.verify().problems == ()
