"""A cook who was here before: what is known of him, and where it counts."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

import pytest

from scaled.config import StationConfig
from scaled.core.command import Note
from scaled.records.query import Selection, sessions
from scaled.records.reader import Records
from scaled.station.acquaintance import Acquaintance, find_acquaintance
from scaled.station.recovery import find_interrupted
from scaled.station.writer import Begun
from tests.station.desk import CUP_STANDARD, Desk
from tests.station.rig import CUP, LIFT, NOON, PROFILE

if TYPE_CHECKING:
    from pathlib import Path

    from scaled.core.habit import Deviations
    from scaled.records.session import SessionInfo
    from tests.station.rig import Rig, Script

CONFIG = StationConfig.model_validate(
    {"device": "scale", "format": "ascii-stream", "division": "1 g"}
)
HEAVY: Script = [*CUP, (140.0, 2.0), (186.0, 2.0), *LIFT]
"""A whole build of a cook who puts in too much of everything."""
KNOWN: Deviations = {"lentils": (0.08, 0.09, 0.07), "yogurt": (0.2, 0.1, 0.15)}
COOK = Acquaintance("C-014", "lentil-cup", KNOWN)


def begun(desk: Desk) -> list[SessionInfo]:
    desk.entries += desk.sessions.take()
    return [entry.session for entry in desk.entries if isinstance(entry, Begun)]


def known_desk() -> Desk:
    """A desk where a known cook builds lentil cups."""
    desk = Desk(CONFIG)
    desk.sessions.meet(COOK)
    desk.sessions.sign_in("C-014")
    desk.sessions.choose(CUP_STANDARD)
    return desk


def test_a_session_begins_with_what_is_known_of_its_cook() -> None:
    assert [info.habit for info in begun(known_desk())] == [KNOWN]


@pytest.mark.parametrize("badge", [None, "C-015"])
def test_what_is_known_of_a_cook_counts_for_nobody_else(badge: str | None) -> None:
    desk = Desk(CONFIG)
    desk.sessions.meet(COOK)
    if badge is not None:
        desk.sessions.sign_in(badge)
    desk.sessions.choose(CUP_STANDARD)
    assert [info.habit for info in begun(desk)] == [None]


def test_what_is_known_of_one_dish_counts_for_no_other() -> None:
    desk = Desk(CONFIG)
    desk.sessions.meet(Acquaintance("C-014", "orchard-oat-pot", KNOWN))
    desk.sessions.sign_in("C-014")
    desk.sessions.choose(CUP_STANDARD)
    assert [info.habit for info in begun(desk)] == [None]


def test_of_a_cook_who_was_never_here_nothing_is_written_down() -> None:
    desk = Desk(CONFIG)
    desk.sessions.meet(Acquaintance("C-014", "lentil-cup", {}))
    desk.sessions.sign_in("C-014")
    desk.sessions.choose(CUP_STANDARD)
    assert [info.habit for info in begun(desk)] == [None]


def test_what_waits_for_the_check_of_the_day_is_what_will_be_built() -> None:
    desk = Desk(CONFIG.model_copy(update={"check_of_the_day": "refuse"}))
    assert desk.sessions.wanted is None
    desk.sessions.start(CUP_STANDARD)
    assert desk.sessions.standard is None
    assert desk.sessions.wanted == CUP_STANDARD


def test_a_crash_forgets_nothing_of_the_cook(tmp_path: Path) -> None:
    desk = known_desk()
    desk.hear([*HEAVY, *CUP, (140.0, 2.0)])
    desk.obey(Note("the last thing stored"))
    before = desk.sessions.current
    desk.crash(tmp_path / "journal.db")
    found = find_interrupted(tmp_path / "journal.db", "station", desk.time.now())
    assert found is not None
    assert before is not None
    after = found.session
    assert after is not None  # the core said again what is stored
    assert after.info.habit == KNOWN
    assert after.live == before.live
    assert after.acquaintance == before.acquaintance
    assert after.acquaintance is not None
    assert len(after.acquaintance.habit["lentils"]) == 4


def test_a_station_starts_whatever_stands_where_the_habit_should(tmp_path: Path) -> None:
    desk = Desk(CONFIG)
    desk.sessions.meet(Acquaintance("C-014", "lentil-cup", {"lentils": (7.0,)}))
    desk.sessions.sign_in("C-014")
    desk.sessions.choose(CUP_STANDARD)
    desk.hear(CUP)
    desk.crash(tmp_path / "journal.db")
    found = find_interrupted(tmp_path / "journal.db", "station", desk.time.now())
    assert found is not None
    assert found.session is None or found.session.info.habit is None


def test_a_journal_that_cannot_be_read_knows_nobody(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    journal = tmp_path / "journal.db"
    found = find_acquaintance(journal, "C-014", CUP_STANDARD.profile, NOON)
    assert found == Acquaintance("C-014", "lentil-cup", {})
    (said,) = caplog.messages
    assert said.startswith(f"nothing known of C-014 from before: {journal}: no journal here")


def stored(rig: Rig) -> list[SessionInfo]:
    with Records.open(rig.journal) as records:
        return [session.info for session in sessions(records, Selection())]


async def test_whoever_signs_in_again_is_known_by_the_journal(rig: Rig) -> None:
    heavier = PROFILE.replace('revision = "1"', 'revision = "2"').replace("40 g", "50 g")
    async with rig.station() as station:
        await station.sign_in("C-014")
        await rig.show(station, HEAVY)
        await rig.until_told("finished")
        for badge in ("C-015", "C-014"):
            rig.time.t += 1.0
            await station.sign_in(badge)
        rig.time.t += 1.0
        rig.profile.write_text(heavier, encoding="utf-8")
        await station.choose("lentil-cup")
    rig.time.t += 24 * 3600.0
    async with rig.station() as station:
        await station.sign_in("C-014")
    infos = await asyncio.to_thread(stored, rig)
    assert [(info.badge, info.profile_revision, info.habit is not None) for info in infos] == [
        (None, "1", False),
        ("C-014", "1", False),
        ("C-015", "1", False),
        ("C-014", "1", True),
        ("C-014", "2", True),
        (None, "2", False),
        ("C-014", "2", True),
    ]
    for info in infos:
        if info.habit is not None:
            assert info.habit["lentils"] == pytest.approx((10 / 120,), abs=0.01)
            assert info.habit["yogurt"] == pytest.approx((6 / 40,), abs=0.02)
