"""Sessions as a station would record them, at Quillmere Kitchens."""

from __future__ import annotations

import os
import pickle
import sqlite3
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, suppress
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

import scaled
from scaled.core.events import (
    Attribution,
    BuildStarted,
    Event,
    Finished,
    Portion,
    Reopened,
    Tapped,
    Verdict,
)
from scaled.core.reading import Reading, Unit
from scaled.records.journal import Journal, SessionInfo
from scaled.records.table import TRIGGERS

PROFILE = """
schema = 1
id = "winter-barley-bowl"
title = "Winter barley bowl"
revision = "3"

[container]
name = "paper bowl, 750 mL"
tare = "18 g"

[[step]]
id = "barley"
ingredient = "pearl barley, steamed"
target = "128 g"
under = "9 g"
over = "8 g"

[[step]]
id = "seeds"
ingredient = "pumpkin seeds, \\"toasted\\""
target = "0.5 oz"
"""

Fill = Callable[..., None]


@pytest.fixture
def info() -> SessionInfo:
    """A session on line 1."""
    return SessionInfo(
        session="20261104T101500Z-line-1",
        station="line-1",
        badge="C-014",
        profile_text=PROFILE,
        profile_id="winter-barley-bowl",
        profile_revision="3",
        format="ascii-stream",
        device="/dev/scale",
        division_g=1.0,
        started_at=datetime(2026, 11, 4, 10, 15, tzinfo=UTC),
        software="0.1.0",
    )


@pytest.fixture
def portion() -> Portion:
    """A portion of barley that passed."""
    return Portion(
        t=12.3,
        build=1,
        step="barley",
        net_g=127.0,
        u_g=0.41,
        verdict=Verdict.PASS,
        confidence=0.9999,
        attribution=Attribution.SURE,
    )


@pytest.fixture
def finished() -> Finished:
    """A finished build that passed."""
    return Finished(
        t=30.0,
        build=1,
        net_g=141.0,
        u_g=0.5,
        verdict=Verdict.PASS,
        confidence=0.99,
        duration_s=25.0,
    )


@pytest.fixture
def readings_between() -> Callable[[int, int], tuple[Reading, ...]]:
    """Readings 0.1 s apart from one tenth of a second to another, both included."""

    def make(first: int, last: int) -> tuple[Reading, ...]:
        return tuple(
            Reading(n / 10, float(n % 50), Unit.G, n % 2 == 0) for n in range(first, last + 1)
        )

    return make


@pytest.fixture
def build_events(portion: Portion, finished: Finished) -> Callable[[int], list[Event]]:
    """A build that took 30 s, in which the barley was reopened and portioned again."""

    def make(build: int) -> list[Event]:
        start_s = (build - 1) * 30.0
        return [
            BuildStarted(t=start_s + 1, build=build, tare_g=18.0, u_g=0.3),
            replace(portion, t=start_s + 5, build=build, net_g=120.0),
            Tapped(t=start_s + 6, build=build, key="undo"),
            Reopened(t=start_s + 6, build=build, step="barley"),
            replace(portion, t=start_s + 12.3, build=build),
            replace(
                portion,
                t=start_s + 20,
                build=build,
                step="seeds",
                net_g=20.5,
                verdict=Verdict.OVER,
            ),
            replace(finished, t=start_s + 30, build=build),
        ]

    return make


@pytest.fixture
def fill(
    build_events: Callable[[int], list[Event]],
    readings_between: Callable[[int, int], tuple[Reading, ...]],
) -> Fill:
    """Record a session of builds of 30 s each, one append a build."""

    def record(
        journal: Journal, info: SessionInfo, builds: int = 2, *, ended: bool = True
    ) -> None:
        journal.begin(info)
        for build in range(1, builds + 1):
            at = info.started_at + timedelta(seconds=build * 30)
            readings = readings_between(build * 300 - 299, build * 300)
            journal.append(info.session, build_events(build), readings, at)
        if ended:
            journal.end(info.session, info.started_at + timedelta(hours=1))

    return record


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where a journal may be; there is none yet."""
    return tmp_path / "state" / "journal.db"


@pytest.fixture
def journal(path: Path) -> Iterator[Journal]:
    """An empty journal, open for writing."""
    with closing(Journal.open(path)) as journal:
        yield journal


@pytest.fixture
def filled(path: Path, info: SessionInfo, fill: Fill) -> Path:
    """A closed journal of 18 records: one ended session of two builds."""
    with closing(Journal.open(path)) as journal:
        fill(journal, info)
    return path


@pytest.fixture
def tamper() -> Callable[..., None]:
    """Run a statement on a journal behind its back, and leave no other trace."""

    def run(path: Path, statement: str, *values: object) -> None:
        with closing(sqlite3.connect(path, isolation_level=None)) as db:
            db.execute("PRAGMA synchronous = OFF")
            db.execute("DROP TRIGGER IF EXISTS record_stays")
            db.execute("DROP TRIGGER IF EXISTS record_holds")
            db.execute(statement, values)
            for trigger in TRIGGERS:
                with suppress(sqlite3.OperationalError):  # the table is gone
                    db.execute(trigger)

    return run


_PRELUDE = """
import os, pickle, resource, signal, sys
from datetime import UTC, datetime
from pathlib import Path
import scaled.records.journal as module
from scaled.core.errors import JournalError
from scaled.records.journal import Journal
path = Path(sys.argv[1])
info, events, readings = pickle.load(sys.stdin.buffer)
at = info.started_at
"""


@pytest.fixture
def start_daemon(
    info: SessionInfo,
    build_events: Callable[[int], list[Event]],
    readings_between: Callable[[int, int], tuple[Reading, ...]],
) -> Iterator[Callable[[Path, str], subprocess.Popen[str]]]:
    """Run a script in a process of its own that knows path, info, events, readings and at."""
    started: list[subprocess.Popen[str]] = []

    def start(path: Path, script: str) -> subprocess.Popen[str]:
        given = pickle.dumps((info, build_events(1), readings_between(1, 300)))
        root = str(Path(scaled.__file__).parents[1])
        with tempfile.TemporaryFile() as stdin:
            stdin.write(given)
            stdin.seek(0)
            process = subprocess.Popen(
                [sys.executable, "-c", _PRELUDE + script, str(path)],
                stdin=stdin,
                stdout=subprocess.PIPE,
                text=True,
                env=os.environ | {"PYTHONPATH": root},
            )
        started.append(process)
        return process

    yield start
    for process in started:
        process.kill()
        process.communicate()
