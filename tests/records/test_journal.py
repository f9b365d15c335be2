from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scaled.core.errors import JournalError
from scaled.core.events import Event, Noted, Portion, event_fields
from scaled.core.reading import Reading, Unit
from scaled.records.journal import Journal, SessionInfo
from scaled.records.query import Selection, events, readings, sessions
from scaled.records.reader import Records

AT = datetime(2026, 11, 4, 10, 15, 30, 250_000, tzinfo=UTC)

StartDaemon = Callable[[Path, str], subprocess.Popen[str]]


def rows(path: Path) -> list[tuple[object, ...]]:
    """Rows as another program sees them."""
    with closing(sqlite3.connect(path)) as db:
        return db.execute("SELECT seq, kind, build, t, recorded_at FROM record").fetchall()


def refusal(path: Path) -> str:
    """The one line with which a journal refuses to be opened for writing."""
    with pytest.raises(JournalError) as caught:
        Journal.open(path)
    assert "\n" not in str(caught.value)
    return str(caught.value)


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


class TestStoring:
    def test_creates_folder_and_file(self, path: Path) -> None:
        Journal.open(path).close()

        assert rows(path) == []
        assert path.parent.stat().st_mode & 0o777 == 0o700

    def test_marks_the_file_as_ours(self, path: Path) -> None:
        Journal.open(path).close()

        # SQLite file format, section 1.3: user version at offset 60, application id at 68.
        head = path.read_bytes()[:100]
        assert int.from_bytes(head[60:64]) == 1
        assert head[68:72] == b"SCLD"

    def test_stores_each_event_with_its_time_and_build(
        self, journal: Journal, path: Path, info: SessionInfo, portion: Portion
    ) -> None:
        note = Noted(t=12.34567, build=1, text="dressing ran out")
        journal.begin(info)
        journal.append(info.session, [portion, note], [Reading(12.3, 127.0)], AT)
        journal.end(info.session, AT)

        at = "2026-11-04T10:15:30.250Z"
        assert rows(path) == [
            (1, "session_started", 0, None, "2026-11-04T10:15:00.000Z"),
            (2, "readings", 0, 12.3, at),
            (3, "portion", 1, 12.3, at),
            (4, "noted", 1, 12.346, at),
            (5, "session_ended", 0, None, at),
        ]

    @pytest.mark.parametrize("t", [-0.0, 0, 7, -0.0001])
    def test_times_that_a_database_writes_otherwise(
        self, journal: Journal, path: Path, info: SessionInfo, portion: Portion, t: float
    ) -> None:
        journal.begin(info)
        journal.append(info.session, [replace(portion, t=t)], [Reading(t, 127.0)], AT)

        with Records.open(path) as records:
            assert records.verify().problems == ()
            stored = json.loads(records.at(3).body)["t"]
            assert (type(stored), stored) == (float, records.at(3).t)

    def test_nothing_new_stores_nothing(
        self, journal: Journal, path: Path, info: SessionInfo
    ) -> None:
        journal.begin(info)
        journal.append(info.session, [], [], AT)

        assert len(rows(path)) == 1

    def test_goes_on_where_it_ended(
        self, path: Path, info: SessionInfo, portion: Portion, fill: Callable[..., None]
    ) -> None:
        with closing(Journal.open(path)) as journal:
            fill(journal, info, 1, ended=False)
        with closing(Journal.open(path)) as journal:
            journal.append(info.session, [portion], [], AT)
        with Records.open(path) as records:
            assert records.verify().problems == ()
            assert records.count == 10

    def test_session_begins_once(self, journal: Journal, info: SessionInfo) -> None:
        journal.begin(info)

        with pytest.raises(ValueError, match="begun before"):
            journal.begin(info)

    def test_only_an_open_session_is_added_to(
        self, journal: Journal, info: SessionInfo, portion: Portion
    ) -> None:
        with pytest.raises(ValueError, match="not open"):
            journal.append(info.session, [portion], [], AT)
        journal.begin(info)
        journal.end(info.session, AT)
        with pytest.raises(ValueError, match="not open"):
            journal.append(info.session, [portion], [], AT)
        with pytest.raises(ValueError, match="not open"):
            journal.end(info.session, AT)

    def test_instant_without_offset_is_refused(
        self, journal: Journal, info: SessionInfo, portion: Portion
    ) -> None:
        journal.begin(info)

        with pytest.raises(ValueError, match="offset"):
            journal.append(info.session, [portion], [], AT.replace(tzinfo=None))

    def test_rows_cannot_be_changed_by_accident(self, filled: Path) -> None:
        with closing(sqlite3.connect(filled)) as db:
            with pytest.raises(sqlite3.IntegrityError, match="never changed"):
                db.execute("UPDATE record SET build = 9")
            with pytest.raises(sqlite3.IntegrityError, match="never deleted"):
                db.execute("DELETE FROM record")

    def test_closing_twice_is_harmless(self, journal: Journal) -> None:
        journal.close()
        journal.close()


class TestRefusing:
    def test_folder_not_writable(self, locked_folder: Path, unprivileged: None) -> None:
        path = locked_folder / "journal.db"

        assert refusal(path) == (
            f"{path}: its folder is not writable; change its permissions, or use another folder"
        )

    def test_folder_that_cannot_be_made(self, locked_folder: Path, unprivileged: None) -> None:
        assert "its folder is not writable" in refusal(locked_folder / "state" / "journal.db")

    @pytest.mark.parametrize("below", ["journal.db", "deeper/journal.db"])
    def test_file_where_the_folder_should_be(self, tmp_path: Path, below: str) -> None:
        (tmp_path / "file").write_text("here first")

        assert "not inside a folder; name another place" in refusal(tmp_path / "file" / below)

    def test_folder_where_the_file_should_be(self, path: Path) -> None:
        path.mkdir(parents=True)

        assert "cannot be opened" in refusal(path)

    @pytest.mark.usefixtures("unprivileged")
    def test_file_not_writable(self) -> None:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "journal.db"
            Journal.open(path).close()
            path.chmod(0o444)

            assert "cannot be written" in refusal(path)

    def test_file_that_is_not_sqlite(self, path: Path) -> None:
        path.parent.mkdir()
        path.write_text("shopping list: barley, seeds\n" * 100)
        before = path.read_bytes()

        assert "not a journal of this program" in refusal(path)
        assert path.read_bytes() == before

    def test_file_that_is_another_database(self, path: Path) -> None:
        path.parent.mkdir()
        with closing(sqlite3.connect(path)) as db:
            db.execute("CREATE TABLE recipe (name)")
        before = path.read_bytes()

        assert refusal(path) == (
            f"{path}: not a journal of this program; move it aside, or name another journal"
        )
        assert path.read_bytes() == before

    def test_empty_file_is_taken_as_new(self, path: Path) -> None:
        path.parent.mkdir()
        path.touch()
        Journal.open(path).close()

        assert rows(path) == []

    def test_newer_schema(self, filled: Path, tamper: Callable[..., None]) -> None:
        tamper(filled, "PRAGMA user_version = 2")

        assert refusal(filled) == (
            f"{filled}: written by a newer version of this program (schema 2); update this program"
        )

    def test_schema_that_never_was(self, filled: Path, tamper: Callable[..., None]) -> None:
        tamper(filled, "PRAGMA user_version = 0")

        assert "damaged (no schema 0 exists)" in refusal(filled)

    def test_file_cut_short(self, filled: Path) -> None:
        with filled.open("r+b") as file:
            file.truncate(filled.stat().st_size // 2)

        assert "damaged (database disk image is malformed); keep a copy" in refusal(filled)

    def test_table_gone(self, filled: Path, tamper: Callable[..., None]) -> None:
        tamper(filled, "DROP TABLE record")

        assert "damaged (its table is not as it was made)" in refusal(filled)

    def test_newest_record_edited(self, filled: Path, tamper: Callable[..., None]) -> None:
        tamper(filled, "UPDATE record SET session = 'other' WHERE seq = 18")

        assert "damaged (record 18 does not match its hash)" in refusal(filled)

    def test_second_writer_in_one_process(self, journal: Journal, path: Path) -> None:
        assert refusal(path) == (
            f"{path}: another daemon is writing to it; stop that one, or use another folder"
        )

    def test_second_daemon_until_the_first_is_gone(
        self, path: Path, info: SessionInfo, start_daemon: StartDaemon
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


class TestSurviving:
    def test_record_is_there_after_a_kill_right_after_append(
        self, path: Path, start_daemon: StartDaemon
    ) -> None:
        daemon = start_daemon(
            path,
            "journal = Journal.open(path)\n"
            "journal.begin(info)\n"
            "journal.append(info.session, events, readings, at)\n"
            "os.kill(os.getpid(), signal.SIGKILL)\n",
        )

        assert daemon.wait(30) == -9
        with Records.open(path) as records:
            assert records.count == 9
            assert records.verify().problems == ()
        Journal.open(path).close()
        with Records.open(path) as records:
            assert records.count == 9
            assert records.verify().problems == ()

    def test_nothing_half_written_after_a_kill_before_the_commit(
        self, path: Path, start_daemon: StartDaemon
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

        assert daemon.wait(30) == -9
        Journal.open(path).close()
        with Records.open(path) as records:
            assert records.count == 1
            assert records.verify().problems == ()

    def test_full_disk_stores_nothing_and_keeps_what_was_stored(
        self, journal: Journal, path: Path, info: SessionInfo, portion: Portion
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
        self, path: Path, start_daemon: StartDaemon
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

        error, count = daemon.communicate(timeout=30)[0].splitlines()
        assert error == f"{path}: the disk does not take or give the data (disk I/O error); " + (
            "check the disk"
        )
        assert int(count) > 0
        Journal.open(path).close()
        with Records.open(path) as records:
            assert records.count == 1 + 8 * int(count)
            assert records.verify().problems == ()


READING = st.builds(
    Reading,
    t=st.just(0.0),
    weight=st.floats(-100, 10_000),
    unit=st.sampled_from([*Unit, None]),
    stable=st.sampled_from([True, False, None]),
)
NOTE = st.builds(
    Noted,
    t=st.one_of(st.floats(-1e-6, 1e6), st.integers(0, 9)),
    build=st.integers(0, 99),
    text=st.text(st.characters(codec="utf-8"), max_size=20),
)
Appended = tuple[list[Noted], list[Reading]]
APPENDS = st.lists(
    st.tuples(st.lists(NOTE, max_size=4), st.lists(READING, max_size=4)), max_size=5
)


# The session is a value that nothing changes; a disk may be slow.
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None)
@given(appends=APPENDS)
def test_any_appends_hold_and_read_back(info: SessionInfo, appends: list[Appended]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "journal.db"
        _store(path, info, appends)
        with Records.open(path) as records:
            (session,) = sessions(records, Selection())
            assert records.verify().problems == ()
            assert session.info == info
            assert [event_fields(event) for event in events(records, session)] == [
                event_fields(note) for notes, _ in appends for note in notes
            ]
            assert readings(records, info.session) == _timed(appends)


def _store(path: Path, info: SessionInfo, appends: list[Appended]) -> None:
    with closing(Journal.open(path)) as journal:
        journal.begin(info)
        timed = iter(_timed(appends))
        for notes, shown in appends:
            happened: list[Event] = list(notes)
            journal.append(info.session, happened, [next(timed) for _ in shown], AT)


def _timed(appends: list[Appended]) -> tuple[Reading, ...]:
    shown = [reading for _, some in appends for reading in some]
    return tuple(replace(reading, t=n / 10) for n, reading in enumerate(shown))
