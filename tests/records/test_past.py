"""What is known of a cook from the journal: his own newest portions of the same dish."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import closing
from dataclasses import replace
from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from scaled.core.events import Attribution, Portion, Reopened
from scaled.core.habit import Deviations
from scaled.core.profile import parse_profile
from scaled.records.journal import Journal
from scaled.records.past import REMEMBERED, SESSIONS, find_habit, habit_at
from scaled.records.reader import Records
from tests.records.conftest import PROFILE

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from scaled.records.session import SessionInfo

DISH = parse_profile(PROFILE, "bowl.toml")
TARGET_G = 128.0
DAY = timedelta(days=1)

Work = Callable[..., None]
Found = Callable[..., Deviations]


@pytest.fixture
def work(path: Path, info: SessionInfo, portion: Portion) -> Iterator[Work]:
    """Record a session of builds with so much barley; days before the one of ``info``."""
    with closing(Journal.open(path)) as journal:

        def record(*offs: float, days: float = 1, **changed: object) -> None:
            at = info.started_at - days * DAY
            station = str(changed.get("station", info.station))
            name = f"{at:%Y%m%dT%H%M%S%f}Z-{station}"
            session = replace(info, session=name, started_at=at, **changed)  # type: ignore[arg-type]
            journal.begin(session)
            words = [
                replace(portion, build=build, net_g=TARGET_G * (1 + off))
                for build, off in enumerate(offs, 1)
            ]
            journal.append(name, words, [], at)
            journal.end(name, at)

        yield record


@pytest.fixture
def found(path: Path, info: SessionInfo) -> Found:
    """What is known of a cook when the session of ``info`` begins."""

    def find(badge: str = "C-014") -> Deviations:
        with Records.open(path) as journal:
            return find_habit(journal, badge, DISH, info.started_at)

    return find


def test_a_cooks_sessions_follow_one_another_on_whatever_scale(work: Work, found: Found) -> None:
    work(0.1, 0.2, days=2)
    work(0.05, days=1, station="line-2")
    work(0.15, days=3)
    assert found() == {"barley": (0.15, 0.1, 0.2, 0.05)}


def test_nothing_is_known_of_who_was_never_here(work: Work, found: Found) -> None:
    work(0.1)
    assert found("C-015") == {}


def test_what_others_did_tells_nothing_nor_what_nobody_signed_for(
    work: Work, found: Found
) -> None:
    work(0.1, badge="C-015")
    work(0.2, days=2, badge=None)
    assert found() == {}
    assert found("C-015") == {"barley": (0.1,)}


def test_another_dish_tells_nothing_and_another_revision_does(work: Work, found: Found) -> None:
    work(0.1, profile_id="orchard-oat-pot")
    heavier = PROFILE.replace('revision = "3"', 'revision = "2"').replace("128 g", "160 g")
    work(0.0, days=2, profile_text=heavier, profile_revision="2")
    assert found() == {"barley": (-0.2,)}


def test_what_is_long_ago_or_still_to_come_tells_nothing(work: Work, found: Found) -> None:
    work(0.1, days=REMEMBERED.days + 0.01)
    work(0.2, days=REMEMBERED.days)
    assert found() == {"barley": (0.2,)}
    work(-0.2, days=-1)  # by a clock that was wrong
    assert found() == {"barley": (0.2,)}


def test_no_more_than_the_newest_sessions_are_looked_at(work: Work, found: Found) -> None:
    for days in range(1, SESSIONS + 1):
        work(days=days)
    work(0.2, days=SESSIONS + 1)
    assert found() == {}


def test_a_word_that_was_taken_back_tells_nothing(
    path: Path, info: SessionInfo, portion: Portion, found: Found
) -> None:
    before = replace(info, started_at=info.started_at - DAY)
    with closing(Journal.open(path)) as journal:
        journal.begin(before)
        said = [
            replace(portion, net_g=TARGET_G * 0.8),
            Reopened(t=13.0, build=1, step="barley"),
            replace(portion, t=14.0, net_g=TARGET_G),
            replace(portion, step="seeds", net_g=20.0, attribution=Attribution.JOINT),
        ]
        journal.append(before.session, said, [], before.started_at)
    assert found() == {"barley": (0.0,)}


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE record SET body = replace(body, '140.8', '90.8') WHERE seq = 5",
        "UPDATE record SET body = 'nothing' WHERE seq = 4",
    ],
)
def test_a_session_that_was_changed_tells_nothing_and_the_others_do(
    work: Work, found: Found, path: Path, tamper: Callable[..., None], change: str
) -> None:
    work(0.2, days=2)
    work(0.1, days=1)
    tamper(path, change)
    assert found() == {"barley": (0.2,)}


def test_a_session_with_a_dish_that_cannot_be_read_tells_nothing(work: Work, found: Found) -> None:
    work(0.2, days=2)
    work(0.1, profile_text="schema = 99")
    assert found() == {"barley": (0.2,)}


def test_what_was_expected_at_a_build_grows_with_those_before_it(
    path: Path, info: SessionInfo, work: Work
) -> None:
    known = {"barley": (0.05,)}
    work(0.1, 0.2, 0.15, habit=known)
    name = f"{info.started_at - DAY:%Y%m%dT%H%M%S%f}Z-{info.station}"
    session = replace(info, session=name, habit=known)
    with Records.open(path) as journal:
        expected = [habit_at(journal, session, build)["barley"] for build in (1, 2, 4)]
    assert expected == [(0.05,), (0.05, 0.1), (0.05, 0.1, 0.2, 0.15)]
