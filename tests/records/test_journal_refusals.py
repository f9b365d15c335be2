from __future__ import annotations

import os
import sqlite3
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path

import pytest

from scaled.core.errors import JournalError
from scaled.records.journal import Journal, SessionInfo
from scaled.records.reader import Records

AT = datetime(2026, 11, 4, 10, 15, 30, 250_000, tzinfo=UTC)

StartDaemon = Callable[[Path, str], subprocess.Popen[str]]


def refusal(path: Path) -> str:
    """The one line with which a journal refuses to be opened for writing."""
    with pytest.raises(JournalError) as caught:
        Journal.open(path)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def rows(path: Path) -> list[tuple[object, ...]]:
    """Rows as another program sees them."""
    with closing(sqlite3.connect(path)) as db:
        return db.execute("SELECT seq, kind, build, t, recorded_at FROM record").fetchall()


@pytest.fixture
def unprivileged() -> Iterator[None]:
    """Permissions count, though root may run the tests."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)
    yield
    os.seteuid(0)


@pytest.fixture
def locked_folder() -> Iterator[Path]:
    """A folder that may be entered but not written."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        folder.chmod(0o555)
        yield folder
        folder.chmod(0o755)


def test_folder_not_writable(locked_folder: Path, unprivileged: None) -> None:
    path = locked_folder / "journal.db"

    assert refusal(path) == (
        f"{path}: its folder is not writable; change its permissions, or use another folder"
    )


def test_folder_that_cannot_be_made(locked_folder: Path, unprivileged: None) -> None:
    assert "its folder is not writable" in refusal(locked_folder / "state" / "journal.db")


@pytest.mark.parametrize("below", ["journal.db", "deeper/journal.db"])
def test_file_where_the_folder_should_be(tmp_path: Path, below: str) -> None:
    (tmp_path / "file").write_text("here first")

    assert "not inside a folder; name another place" in refusal(tmp_path / "file" / below)


def test_folder_where_the_file_should_be(path: Path) -> None:
    path.mkdir(parents=True)

    assert "cannot be opened" in refusal(path)


@pytest.mark.usefixtures("unprivileged")
def test_file_not_writable() -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "journal.db"
        Journal.open(path).close()
        path.chmod(0o444)

        assert "cannot be written" in refusal(path)


def test_file_that_is_not_sqlite(path: Path) -> None:
    path.parent.mkdir()
    path.write_text("shopping list: barley, seeds\n" * 100)
    before = path.read_bytes()

    assert "not a journal of this program" in refusal(path)
    assert path.read_bytes() == before


def test_file_that_is_another_database(path: Path) -> None:
    path.parent.mkdir()
    with closing(sqlite3.connect(path)) as db:
        db.execute("CREATE TABLE recipe (name)")
    before = path.read_bytes()

    assert refusal(path) == (
        f"{path}: not a journal of this program; move it aside, or name another journal"
    )
    assert path.read_bytes() == before


def test_empty_file_is_taken_as_new(path: Path) -> None:
    path.parent.mkdir()
    path.touch()
    Journal.open(path).close()

    assert rows(path) == []


def test_newer_schema(filled: Path, tamper: Callable[..., None]) -> None:
    tamper(filled, "PRAGMA user_version = 2")

    assert refusal(filled) == (
        f"{filled}: written by a newer version of this program (schema 2); update this program"
    )


def test_schema_that_never_was(filled: Path, tamper: Callable[..., None]) -> None:
    tamper(filled, "PRAGMA user_version = 0")

    assert "damaged (no schema 0 exists)" in refusal(filled)


def test_file_cut_short(filled: Path) -> None:
    with filled.open("r+b") as file:
        file.truncate(filled.stat().st_size // 2)

    assert "damaged (database disk image is malformed); keep a copy" in refusal(filled)


def test_table_gone(filled: Path, tamper: Callable[..., None]) -> None:
    tamper(filled, "DROP TABLE record")

    assert "damaged (its table is not as it was made)" in refusal(filled)


@pytest.mark.parametrize(
    "statement",
    [
        "CREATE TRIGGER none_more BEFORE INSERT ON record BEGIN SELECT RAISE(IGNORE); END",
        "CREATE VIEW portion AS SELECT * FROM record WHERE kind = 'portion'",
        "DROP TRIGGER record_stays",
        "DROP TRIGGER record_holds",
    ],
)
def test_rules_not_as_they_were_made(filled: Path, statement: str) -> None:
    with closing(sqlite3.connect(filled)) as db:
        db.execute(statement)

    assert "damaged (its rules are not as they were made); keep a copy" in refusal(filled)
    with Records.open(filled) as records:
        assert not records.verify().problems


def test_a_rule_added_while_it_is_written_swallows_nothing(
    path: Path, journal: Journal, info: SessionInfo
) -> None:
    journal.begin(info)
    with closing(sqlite3.connect(path)) as db:
        db.execute(
            "CREATE TRIGGER none_more BEFORE INSERT ON record BEGIN SELECT RAISE(IGNORE); END"
        )
    with pytest.raises(JournalError, match="does not take records; keep a copy"):
        journal.end(info.session, AT)
    assert [kind for _, kind, *_ in rows(path)] == ["session_started"]


def test_newest_record_edited(filled: Path, tamper: Callable[..., None]) -> None:
    tamper(filled, "UPDATE record SET session = 'other' WHERE seq = 18")

    assert "damaged (record 18 does not match its hash)" in refusal(filled)


def test_second_writer_in_one_process(journal: Journal, path: Path) -> None:
    assert refusal(path) == (
        f"{path}: another daemon is writing to it; stop that one, or use another folder"
    )


def test_second_daemon_until_the_first_is_gone(
    path: Path, info: SessionInfo, start_daemon: StartDaemon
) -> None:
    daemon = start_daemon(
        path, "Journal.open(path).begin(info); print('open', flush=True); signal.pause()"
    )
    assert daemon.stdout is not None
    assert daemon.stdout.readline() == "open\n"

    assert "another daemon is writing to it" in refusal(path)
    with Records.open(path) as records:  # readers are let in all the same
        assert records.count == 1
    daemon.kill()
    daemon.wait()
    with closing(Journal.open(path)) as journal:
        journal.end(info.session, AT)
