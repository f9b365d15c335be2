from __future__ import annotations

import shutil
import sqlite3
import subprocess
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from scaled.core.errors import JournalError
from scaled.records import database, reader
from scaled.records.export import FORMATS, export_lines
from scaled.records.journal import Journal, SessionInfo
from scaled.records.query import Selection, readings, sessions, verdicts
from scaled.records.reader import Records

Fill = Callable[..., None]
StartDaemon = Callable[[Path, str], subprocess.Popen[str]]

RECORD_AND = (
    "journal = Journal.open(path)\n"
    "journal.begin(info)\n"
    "journal.append(info.session, events, readings, at)\n"
    "print('recorded', flush=True)\n"
)


def contents(folder: Path) -> dict[str, bytes]:
    return {file.name: file.read_bytes() for file in folder.iterdir()}


def refusal(path: Path) -> str:
    """The one line with which a journal refuses to be read."""
    with pytest.raises(JournalError) as caught:
        Records.open(path)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def read_all(path: Path) -> tuple[int, int]:
    """How many records and readings there are, having looked at everything."""
    with Records.open(path) as records:
        assert records.verify().problems == ()
        for form in FORMATS:
            assert list(export_lines(records, form, Selection()))
        (session,) = sessions(records, Selection())
        assert verdicts(records, session.info.session)
        return records.count, len(readings(records, session.info.session))


class TestChangingNothing:
    def test_journal_at_rest(self, filled: Path) -> None:
        before = contents(filled.parent)

        assert read_all(filled) == (18, 600)
        assert contents(filled.parent) == before

    def test_journal_a_daemon_is_writing_to(self, path: Path, start_daemon: StartDaemon) -> None:
        daemon = start_daemon(path, RECORD_AND + "signal.pause()")
        assert daemon.stdout is not None
        assert daemon.stdout.readline() == "recorded\n"
        before = contents(path.parent)

        assert read_all(path) == (9, 300)
        assert contents(path.parent) == before

    def test_journal_of_a_killed_daemon(self, path: Path, start_daemon: StartDaemon) -> None:
        daemon = start_daemon(path, RECORD_AND + "os.kill(os.getpid(), signal.SIGKILL)")
        daemon.wait(60)
        before = contents(path.parent)
        assert before["journal.db-wal"]

        assert read_all(path) == (9, 300)
        assert contents(path.parent) == before

    def test_copy_in_a_folder_that_cannot_be_written(self, filled: Path, tmp_path: Path) -> None:
        folder = tmp_path / "copy"
        folder.mkdir()
        copy = Path(shutil.copy(filled, folder))
        copy.chmod(0o444)
        folder.chmod(0o555)

        assert read_all(copy) == (18, 600)
        assert list(contents(folder)) == ["journal.db"]

    def test_link_to_the_journal(self, journal: Journal, path: Path, info: SessionInfo) -> None:
        journal.begin(info)
        link = path.parent.parent / "link.db"
        link.symlink_to(path)

        with Records.open(link) as records:
            assert records.count == 1


class TestBesideTheWriter:
    def test_sees_the_journal_as_it_stood_when_opened(
        self, journal: Journal, path: Path, info: SessionInfo, fill: Fill
    ) -> None:
        fill(journal, info, 1, ended=False)
        with Records.open(path) as before:
            journal.end(info.session, info.started_at)
            with Records.open(path) as after:
                assert (before.count, after.count) == (9, 10)
                assert before.verify().head == before.head != after.head
                assert [s.end is None for s in sessions(before, Selection())] == [True]
                assert [s.end is None for s in sessions(after, Selection())] == [False]

    def test_last_of_a_session_is_as_it_stood_when_opened(
        self, journal: Journal, path: Path, info: SessionInfo
    ) -> None:
        journal.begin(info)
        journal.begin(replace(info, session="another"))
        with Records.open(path) as records:
            journal.end(info.session, info.started_at)
            assert records.last_of(info.session).kind == "session_started"
        with Records.open(path) as records:
            assert records.last_of(info.session).kind == "session_ended"
            assert records.last_of("another").seq == 2

    def test_waits_for_a_daemon_that_is_just_ending(
        self, filled: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        index = filled.with_name("journal.db-shm")
        connect = database._connect

        def a_moment_later(path: Path, how: str) -> sqlite3.Connection:
            index.unlink(missing_ok=True)
            return connect(path, how)

        monkeypatch.setattr(database, "_connect", a_moment_later)
        index.touch()
        with monkeypatch.context() as impatient:
            impatient.setattr(reader, "_PAUSES_S", ())
            assert "cannot be opened" in refusal(filled)
        index.touch()
        with Records.open(filled) as records:
            assert records.count == 18

    def test_never_holds_up_the_writer(
        self, journal: Journal, path: Path, info: SessionInfo, fill: Fill
    ) -> None:
        fill(journal, info, 30, ended=False)
        with Records.open(path) as records:
            lines = export_lines(records, "jsonl", Selection())
            next(lines)
            journal.end(info.session, info.started_at)
            with closing(sqlite3.connect(path)) as db:
                busy, *_ = db.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchone()
            assert busy == 0
            assert sum(1 for _ in lines) == 30 * 8 + 1

    def test_stops_when_a_daemon_begins_to_change_a_file_at_rest(self, filled: Path) -> None:
        with Records.open(filled) as records:
            lines = export_lines(records, "jsonl", Selection())
            Journal.open(filled).close()
            with pytest.raises(JournalError, match="just now; run this again"):
                list(lines)


class TestRefusing:
    def test_no_journal(self, path: Path) -> None:
        assert refusal(path) == (
            f"{path}: no journal here that can be read; start the station once, or name another"
            " with --journal"
        )
        assert not path.parent.exists()

    def test_folder(self, tmp_path: Path) -> None:
        assert "no journal here that can be read" in refusal(tmp_path)

    @pytest.mark.parametrize("content", [b"", b"shopping list: barley, seeds\n" * 100])
    def test_file_that_is_not_a_journal(self, tmp_path: Path, content: bytes) -> None:
        path = tmp_path / "list.txt"
        path.write_bytes(content)

        assert "not a journal of this program" in refusal(path)
        assert contents(tmp_path) == {"list.txt": content}

    def test_newer_schema(self, filled: Path, tamper: Callable[..., None]) -> None:
        tamper(filled, "PRAGMA user_version = 2")

        assert "written by a newer version of this program (schema 2)" in refusal(filled)

    def test_file_cut_short(self, filled: Path) -> None:
        with filled.open("r+b") as file:
            file.truncate(filled.stat().st_size // 2)

        with pytest.raises(JournalError, match=r"damaged \(.*\); keep a copy"):
            read_all(filled)

    def test_table_that_only_looks_like_ours(self, filled: Path) -> None:
        data = filled.read_bytes()
        # No longer another name of the row's place: every seq would read as NULL.
        filled.write_bytes(data.replace(b"seq INTEGER", b"seq INTEGES"))

        assert "damaged (its table is not as it was made); keep a copy" in refusal(filled)

    def test_schema_that_is_no_text(self, filled: Path) -> None:
        data = filled.read_bytes()
        filled.write_bytes(data.replace(b"CREATE TRIGGER", b"CREATE\xa0TRIGGER"))

        assert "damaged (in its schema); keep a copy" in refusal(filled)

    def test_log_without_its_index(
        self, path: Path, tmp_path: Path, start_daemon: StartDaemon
    ) -> None:
        start_daemon(path, RECORD_AND + "os.kill(os.getpid(), signal.SIGKILL)").wait(60)
        folder = tmp_path / "copy"
        folder.mkdir()
        for name in ("journal.db", "journal.db-wal"):
            shutil.copy(path.with_name(name), folder)

        assert refusal(folder / "journal.db") == (
            f"{folder / 'journal.db'}: its newest records are in journal.db-wal alone; put"
            " journal.db-shm beside it too, or start the station on it once"
        )
        assert len(contents(folder)) == 2

    @pytest.mark.parametrize("form", [form for form in FORMATS if form != "checks"])
    def test_session_with_an_edited_record(
        self, filled: Path, tamper: Callable[..., None], form: str
    ) -> None:
        tamper(filled, "UPDATE record SET t = t + 1 WHERE kind IN ('portion', 'readings')")

        with Records.open(filled) as records, pytest.raises(JournalError) as caught:
            list(export_lines(records, form, Selection()))
        assert str(caught.value).endswith(
            "was changed after it was written; see what else was with: scaled records verify"
        )

    def test_session_with_damaged_readings(
        self, filled: Path, tamper: Callable[..., None]
    ) -> None:
        tamper(filled, "UPDATE record SET chunk = zeroblob(8) WHERE kind = 'readings'")

        with (
            Records.open(filled) as records,
            pytest.raises(JournalError, match="record 2 was changed"),
        ):
            readings(records, "20261104T101500Z-line-1")
