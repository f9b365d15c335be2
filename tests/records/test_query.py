from __future__ import annotations

from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from scaled.core.errors import JournalError
from scaled.core.events import (
    BuildStarted,
    Confirmed,
    Event,
    Finished,
    Noted,
    Portion,
    Reopened,
    Settled,
    SignalLost,
)
from scaled.records.chain import Record, seal
from scaled.records.journal import Journal, SessionInfo
from scaled.records.query import (
    Selection,
    events,
    records,
    sessions,
    verdicts,
)
from scaled.records.reader import Records
from scaled.records.session import parse_instant
from scaled.records.table import insert


def opened(path: Path) -> closing[Records]:
    return closing(Records.open(path))


class TestSessions:
    @pytest.fixture
    def path_of_four(self, path: Path, info: SessionInfo) -> Path:
        """Four sessions, begun a day apart, in the order of their ids but for the last."""
        day = timedelta(days=1)
        begun = [
            replace(info, session="2-a", started_at=info.started_at + day, badge="C-020"),
            replace(info, session="3-b", started_at=info.started_at + 2 * day, station="line-2"),
            replace(info, session="4-c", started_at=info.started_at + 3 * day, profile_id="pot"),
            replace(info, session="1-d", badge=None),
        ]
        with closing(Journal.open(path)) as journal:
            for one in begun:
                journal.begin(one)
        return path

    @pytest.mark.parametrize(
        ("wanted", "names"),
        [
            (Selection(), ["1-d", "2-a", "3-b", "4-c"]),
            (Selection(session="2-a"), ["2-a"]),
            (Selection(station="line-2"), ["3-b"]),
            (Selection(badge="C-014"), ["3-b", "4-c"]),
            (Selection(badge="C-020", station="line-2"), []),
            (Selection(profile="pot"), ["4-c"]),
            (Selection(since=parse_instant("2026-11-05T10:15:00Z")), ["2-a", "3-b", "4-c"]),
            (Selection(until=parse_instant("2026-11-05T10:15:00Z")), ["1-d"]),
            (
                Selection(
                    since=parse_instant("2026-11-05T11:15:00+01:00"),
                    until=parse_instant("2026-11-07"),
                ),
                ["2-a", "3-b"],
            ),
        ],
    )
    def test_come_by_id_as_selected(
        self, path_of_four: Path, wanted: Selection, names: list[str]
    ) -> None:
        with opened(path_of_four) as journal:
            assert [s.info.session for s in sessions(journal, wanted)] == names

    def test_say_all_that_was_known_at_the_start(self, filled: Path, info: SessionInfo) -> None:
        with opened(filled) as journal:
            (session,) = sessions(journal, Selection())

        assert session.info == info
        assert session.end is not None
        assert session.end.recorded_at == "2026-11-04T11:15:00.000Z"

    def test_keep_their_records_apart(
        self, path: Path, journal: Journal, info: SessionInfo, portion: Portion
    ) -> None:
        others = [info, replace(info, session="other", station="line-2")]
        for other in others:
            journal.begin(other)
        for n in range(4):
            journal.append(others[n % 2].session, [replace(portion, build=n)], [], info.started_at)
        for other in others:
            journal.end(other.session, info.started_at)

        with opened(path) as stored:
            places = [[r.seq for r in records(stored, s)] for s in sessions(stored, Selection())]
        assert places == [[1, 3, 5, 7], [2, 4, 6, 8]]


class TestEvents:
    @pytest.fixture
    def said(self, portion: Portion, finished: Finished) -> list[Event]:
        """Events with every kind of field."""
        return [
            BuildStarted(t=1.0, build=1, tare_g=18.0, u_g=0.3),
            Settled(t=2.0, build=1, step=None, net_g=None, u_g=0.3, verdict=None, confidence=0.5),
            replace(portion, joint_with=("seeds", "oil"), skipped=True, net_g=None, u_g=None),
            SignalLost(t=13.0, build=1, reason="unplugged"),
            Confirmed(t=14.0, build=1, confirm="dressing", held=False),
            Noted(t=15.0, build=1, text="Zwiebeln aus, später 🧅\n\0"),
            finished,
        ]

    def test_read_back_as_they_were(
        self, path: Path, journal: Journal, info: SessionInfo, said: list[Event]
    ) -> None:
        journal.begin(info)
        journal.append(info.session, said, [], info.started_at)

        with opened(path) as stored:
            (session,) = sessions(stored, Selection())
            assert list(events(stored, session)) == said

    def test_of_a_kind_unknown_here_are_refused(
        self, path: Path, journal: Journal, info: SessionInfo
    ) -> None:
        journal.begin(info)
        with opened(path) as stored:
            odd = Record(2, info.session, 1, 0.0, "", "levitated", "{}", stored.head)
        insert(journal._db, [seal(odd)])

        with opened(path) as stored:
            (session,) = sessions(stored, Selection())
            with pytest.raises(
                JournalError, match=r"record 2 \(levitated\) says what is unknown here; update"
            ):
                list(events(stored, session))


class TestVerdicts:
    def test_reopened_portion_is_superseded_by_the_later_one(
        self, filled: Path, info: SessionInfo
    ) -> None:
        with opened(filled) as journal:
            judged = verdicts(journal, info.session)

        told = [(j.record.seq, j.record.build, j.event.event, j.superseded) for j in judged]
        assert told == [
            (4, 1, "portion", True),
            (7, 1, "portion", False),
            (8, 1, "portion", False),
            (9, 1, "finished", False),
            (12, 2, "portion", True),
            (15, 2, "portion", False),
            (16, 2, "portion", False),
            (17, 2, "finished", False),
        ]

    def test_only_the_reopened_step_of_that_build_is_superseded(
        self, path: Path, journal: Journal, info: SessionInfo, portion: Portion
    ) -> None:
        said = [
            portion,
            replace(portion, step="seeds"),
            Reopened(t=13.0, build=1, step="seeds"),
            replace(portion, build=2, step="seeds"),
        ]
        journal.begin(info)
        journal.append(info.session, said, [], info.started_at)

        with opened(path) as stored:
            judged = verdicts(stored, info.session)
        assert [one.superseded for one in judged] == [False, True, False]
