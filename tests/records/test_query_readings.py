from __future__ import annotations

from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from pathlib import Path

from scaled.core.event_line import event_fields
from scaled.core.events import (
    BuildStarted,
    Confirmed,
    Event,
    Finished,
    Noted,
)
from scaled.core.handoff_events import HandedOver
from scaled.core.reading import Reading
from scaled.records.journal import Journal, SessionInfo
from scaled.records.query import (
    Span,
    events,
    readings,
    resumable,
    spans,
)
from scaled.records.reader import Records

Fill = Callable[..., None]
ReadingsBetween = Callable[[int, int], tuple[Reading, ...]]


def opened(path: Path) -> closing[Records]:
    return closing(Records.open(path))


class TestReadings:
    def test_of_a_session_are_all(
        self, filled: Path, info: SessionInfo, readings_between: ReadingsBetween
    ) -> None:
        with opened(filled) as journal:
            found = readings(journal, info.session)

        assert found == readings_between(1, 300) + readings_between(301, 600)

    def test_of_a_build_begin_where_the_one_before_ended(
        self, filled: Path, info: SessionInfo, readings_between: ReadingsBetween
    ) -> None:
        with opened(filled) as journal:
            assert spans(journal, info.session) == [
                Span(1, float("-inf"), 30.0),
                Span(2, 30.0, 60.0),
            ]
            assert readings(journal, info.session, 1) == readings_between(1, 300)
            assert readings(journal, info.session, 2) == readings_between(301, 600)
            assert readings(journal, info.session, 3) == ()

    def test_of_builds_that_did_not_finish(
        self, path: Path, journal: Journal, info: SessionInfo
    ) -> None:
        started = [
            BuildStarted(t=t, build=n, tare_g=18.0, u_g=0.3) for n, t in ((1, 2.0), (2, 9.0))
        ]
        journal.begin(info)
        journal.append(info.session, started, [], info.started_at)

        with opened(path) as stored:
            assert spans(stored, info.session) == [
                Span(1, float("-inf"), 9.0),
                Span(2, 9.0, float("inf")),
            ]

    def test_a_build_that_went_on_elsewhere_ends_where_it_was_handed_over(
        self, path: Path, journal: Journal, info: SessionInfo
    ) -> None:
        started = [
            BuildStarted(t=t, build=n, tare_g=18.0, u_g=0.3) for n, t in ((1, 2.0), (2, 12.0))
        ]
        handed = HandedOver(t=9.0, build=1, net_g=276.0, u_g=0.5)
        journal.begin(info)
        journal.append(info.session, [started[0], handed, started[1]], [], info.started_at)

        with opened(path) as stored:
            assert spans(stored, info.session) == [
                Span(1, float("-inf"), 9.0),
                Span(2, 9.0, float("inf")),
            ]

    def test_hold_the_one_that_caused_the_end_though_its_time_was_rounded(
        self, path: Path, journal: Journal, info: SessionInfo, finished: Finished
    ) -> None:
        shown = tuple(Reading(t, 100.0) for t in (29.9, 30.00049, 30.1))
        started = BuildStarted(t=1.0, build=1, tare_g=18.0, u_g=0.3)
        journal.begin(info)
        said: list[Event] = [started, replace(finished, t=30.00049)]
        journal.append(info.session, said, shown, info.started_at)

        with opened(path) as stored:
            assert readings(stored, info.session, 1) == shown[:2]


class TestResumable:
    def test_session_cut_short_has_all_to_pick_it_up_again(
        self,
        path: Path,
        info: SessionInfo,
        fill: Fill,
        build_events: Callable[[int], list[Event]],
        readings_between: ReadingsBetween,
    ) -> None:
        more = [Confirmed(t=31, build=1, confirm="lid", held=True), Noted(t=32, build=1, text="x")]
        with closing(Journal.open(path)) as journal:
            fill(journal, info, 1, ended=False)
            journal.append(info.session, more, [Reading(32.0, 5.0)], info.started_at)

        with opened(path) as stored:
            found = resumable(stored, "line-1")
            assert found is not None
            assert found.info == info
            shown = readings(stored, info.session)
            assert shown == (*readings_between(1, 300), Reading(32.0, 5.0))
            assert [event_fields(e) for e in events(stored, found)] == [
                event_fields(e) for e in (*build_events(1), *more)
            ]

    def test_ended_session_is_not_picked_up(self, filled: Path) -> None:
        with opened(filled) as stored:
            assert resumable(stored, "line-1") is None

    def test_only_the_newest_session_of_the_station_counts(
        self, path: Path, journal: Journal, info: SessionInfo
    ) -> None:
        journal.begin(info)  # cut short, but another one was begun since
        journal.begin(replace(info, session="later"))
        journal.end("later", info.started_at)
        journal.begin(replace(info, session="elsewhere", station="line-2"))

        with opened(path) as stored:
            assert resumable(stored, "line-1") is None
            elsewhere = resumable(stored, "line-2")
            assert elsewhere is not None
            assert elsewhere.info.session == "elsewhere"
            assert resumable(stored, "line-3") is None

    def test_newest_is_by_order_recorded_though_the_clock_was_set_back(
        self, path: Path, journal: Journal, info: SessionInfo
    ) -> None:
        journal.begin(info)
        journal.begin(replace(info, session="20010101T000000Z-line-1"))

        with opened(path) as stored:
            found = resumable(stored, "line-1")
        assert found is not None
        assert found.info.session == "20010101T000000Z-line-1"
