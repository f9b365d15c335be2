from __future__ import annotations

import json
import os
import sqlite3
import tempfile
from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scaled.core.event_line import event_fields
from scaled.core.events import Event, Noted, Portion
from scaled.core.reading import Reading, Unit
from scaled.records.journal import Journal, SessionInfo
from scaled.records.query import Selection, events, readings, sessions
from scaled.records.reader import Records

AT = datetime(2026, 11, 4, 10, 15, 30, 250_000, tzinfo=UTC)


def rows(path: Path) -> list[tuple[object, ...]]:
    """Rows as another program sees them."""
    with closing(sqlite3.connect(path)) as db:
        return db.execute("SELECT seq, kind, build, t, recorded_at FROM record").fetchall()


def test_creates_folder_and_file(path: Path) -> None:
    Journal.open(path).close()

    assert rows(path) == []
    assert path.parent.stat().st_mode & 0o777 == 0o700


def test_every_file_is_open_to_its_owner_alone(path: Path, info: SessionInfo) -> None:
    path.parent.mkdir(mode=0o755)
    before = os.umask(0)
    try:
        with closing(Journal.open(path)) as journal:
            journal.begin(info)
            modes = {file.name: file.stat().st_mode & 0o777 for file in path.parent.iterdir()}
    finally:
        os.umask(before)
    names = ("journal.db", "journal.db-wal", "journal.db-shm", "journal.db.lock")
    assert modes == dict.fromkeys(names, 0o600)


def test_marks_the_file_as_ours(path: Path) -> None:
    Journal.open(path).close()

    # SQLite file format, section 1.3: user version at offset 60, application id at 68.
    head = path.read_bytes()[:100]
    assert int.from_bytes(head[60:64]) == 1
    assert head[68:72] == b"SCLD"


def test_stores_each_event_with_its_time_and_build(
    journal: Journal, path: Path, info: SessionInfo, portion: Portion
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
    journal: Journal, path: Path, info: SessionInfo, portion: Portion, t: float
) -> None:
    journal.begin(info)
    journal.append(info.session, [replace(portion, t=t)], [Reading(t, 127.0)], AT)

    with Records.open(path) as records:
        assert records.verify().problems == ()
        stored = json.loads(records.at(3).body)["t"]
        assert (type(stored), stored) == (float, records.at(3).t)


def test_nothing_new_stores_nothing(journal: Journal, path: Path, info: SessionInfo) -> None:
    journal.begin(info)
    journal.append(info.session, [], [], AT)

    assert len(rows(path)) == 1


def test_goes_on_where_it_ended(
    path: Path, info: SessionInfo, portion: Portion, fill: Callable[..., None]
) -> None:
    with closing(Journal.open(path)) as journal:
        fill(journal, info, 1, ended=False)
    with closing(Journal.open(path)) as journal:
        journal.append(info.session, [portion], [], AT)
    with Records.open(path) as records:
        assert records.verify().problems == ()
        assert records.count == 10


def test_session_begins_once(journal: Journal, info: SessionInfo) -> None:
    journal.begin(info)

    with pytest.raises(ValueError, match="begun before"):
        journal.begin(info)


def test_only_an_open_session_is_added_to(
    journal: Journal, info: SessionInfo, portion: Portion
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
    journal: Journal, info: SessionInfo, portion: Portion
) -> None:
    journal.begin(info)

    with pytest.raises(ValueError, match="offset"):
        journal.append(info.session, [portion], [], AT.replace(tzinfo=None))


def test_rows_cannot_be_changed_by_accident(filled: Path) -> None:
    with closing(sqlite3.connect(filled)) as db:
        with pytest.raises(sqlite3.IntegrityError, match="never changed"):
            db.execute("UPDATE record SET build = 9")
        with pytest.raises(sqlite3.IntegrityError, match="never deleted"):
            db.execute("DELETE FROM record")


def test_closing_twice_is_harmless(journal: Journal) -> None:
    journal.close()
    journal.close()


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
@settings(suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture])
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
