from __future__ import annotations

import sqlite3
from contextlib import closing
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from scaled.core.command import Confirm, Next, Note, Undo
from scaled.core.errors import CommandRefused, JournalError
from scaled.core.events import SignalBack, SignalLost
from scaled.core.live import Ask
from scaled.core.profile import parse_profile
from scaled.core.reading import GRAMS, Reading, Unit
from scaled.station.link import LinkState
from scaled.station.open_session import FLUSH_S
from scaled.station.premises import Standard
from scaled.station.recovery import Interrupted, find_interrupted
from scaled.station.writer import Begun, Ended, Happened
from tests.station.desk import CUP_STANDARD, Desk, link
from tests.station.rig import CUP, LENTILS, LIFT, PROFILE, WHOLE_BUILD, YOGURT, Time, readings

if TYPE_CHECKING:
    from tests.station.rig import Rig, Script


@pytest.fixture
def desk(rig: Rig) -> Desk:
    """A desk where a lentil cup is chosen."""
    desk = Desk(rig.config)
    desk.sessions.choose(CUP_STANDARD)
    return desk


def test_readings_alone_wait_but_not_for_long(desk: Desk) -> None:
    desk.hear([(0.0, 10.0)])
    sizes = [len(entry.readings) for entry in desk.entries if isinstance(entry, Happened)]
    longest = round(10 * FLUSH_S)
    assert max(sizes) <= longest + 1
    assert sum(sizes) > 100 - longest


def test_session_ids_sort_by_time(desk: Desk) -> None:
    desk.time.t += 0.001
    desk.sessions.sign_in("C-014")
    desk.time.t += 1.0
    desk.sessions.sign_in("C-015")
    begun = [entry.session for entry in desk.sessions.take() if isinstance(entry, Begun)]
    ids = [info.session for info in begun]
    assert ids == [
        "20261125T120000000Z-station",
        "20261125T120000001Z-station",
        "20261125T120001001Z-station",
    ]
    assert [info.badge for info in begun] == [None, "C-014", "C-015"]


def test_session_ids_differ_while_the_clock_stands_or_goes_back(desk: Desk) -> None:
    desk.time.t = 1.0
    for number in range(3):
        desk.sessions.sign_in(f"C-{number}")
    desk.time.t = 0.5
    desk.sessions.sign_in("C-9")
    begun = [entry.session for entry in desk.sessions.take() if isinstance(entry, Begun)]
    ids = [info.session for info in begun]
    assert ids == sorted(set(ids))
    assert [info.started_at for info in begun[1:4]] == 3 * [begun[1].started_at]


@pytest.mark.parametrize(
    ("script", "on_pan"),
    [
        ([(0.0, 1.0)], False),
        (CUP, False),
        ([*CUP, (11.0, 2.0)], False),
        ([*CUP, *LENTILS], True),
        ([*CUP, *LENTILS, *YOGURT], True),
        (WHOLE_BUILD, False),
    ],
    ids=["empty", "cup", "cup, a division more", "half built", "built", "lifted"],
)
def test_no_build_is_cut_in_two(desk: Desk, script: Script, on_pan: bool) -> None:
    desk.hear(script)
    if on_pan:
        with pytest.raises(CommandRefused, match="badge: a build is on the scale; finish it or"):
            desk.sessions.sign_in("C-014")
    else:
        desk.sessions.sign_in("C-014")
    began = [entry for entry in desk.sessions.take() if isinstance(entry, Begun)]
    assert len(began) == (not on_pan)


def test_a_half_built_bowl_off_the_scale_may_be_left(desk: Desk) -> None:
    desk.hear([*CUP, *LENTILS, *LIFT])
    live = desk.sessions.current.live if desk.sessions.current else None
    assert live is not None
    assert live.ask is Ask.RETURN
    desk.sessions.sign_in("C-014")
    desk.entries += desk.sessions.take()
    assert sorted(desk.portions) == ["lentils", "yogurt"]
    assert desk.names[-1] == "finished"


def test_choosing_the_same_again_changes_nothing(desk: Desk) -> None:
    desk.sessions.take()
    desk.sessions.choose(Standard(PROFILE, CUP_STANDARD.profile))
    assert desk.sessions.take() == ()


def test_choosing_a_new_revision_begins_a_session(desk: Desk) -> None:
    text = PROFILE.replace('revision = "1"', 'revision = "2"')
    desk.sessions.take()
    desk.time.t += 1.0
    desk.sessions.choose(Standard(text, parse_profile(text, "lentil-cup.toml")))
    assert [type(entry) for entry in desk.sessions.take()] == [Ended, Begun]


def test_silence_is_told_once_and_its_end_once(desk: Desk) -> None:
    desk.hear(CUP)
    desk.time.t += 2.0
    desk.sessions.hear(link(LinkState.STALE, "no readings"))
    desk.time.t += 1.0
    desk.sessions.hear(link(LinkState.LOST, "unplugged"))
    desk.sessions.hear(link(LinkState.OPENING))
    desk.time.t += 1.0
    desk.sessions.hear(link(LinkState.LIVE))
    desk.hear([(10.0, 0.1)])
    told = [e for e in desk.events if isinstance(e, SignalLost | SignalBack)]
    assert told == [
        SignalLost(t=5.0, build=1, reason="no readings"),
        SignalBack(t=7.0, build=1, gap_s=4.0),
    ]


@pytest.mark.parametrize(
    "state",
    [LinkState.OVERLOAD, LinkState.UNDERLOAD, LinkState.UNSUCCESSFUL, LinkState.OPENING],
)
def test_a_scale_that_says_why_it_shows_no_weight_is_not_lost(
    desk: Desk, state: LinkState
) -> None:
    desk.hear(CUP)
    desk.sessions.hear(link(state))
    desk.sessions.hear(link(LinkState.LIVE))
    desk.hear([(10.0, 0.1)])
    assert not [e for e in desk.events if isinstance(e, SignalLost | SignalBack)]


def test_a_session_that_begins_in_silence_says_so(desk: Desk) -> None:
    desk.sessions.hear(link(LinkState.LOST, "unplugged"))
    desk.time.t += 1.0
    desk.sessions.sign_in("C-014")
    desk.entries += desk.sessions.take()
    begun = [place for place, entry in enumerate(desk.entries) if isinstance(entry, Begun)]
    last = desk.entries[begun[-1] + 1]
    assert isinstance(last, Happened)
    assert [event.event for event in last.events] == ["signal_lost"]


def test_frames_that_came_in_one_piece_all_count(desk: Desk) -> None:
    """A loop that was held up gets several frames at one time: the newest must not be lost."""
    desk.sessions.hear(Reading(0.1, 1.0, Unit.G))
    desk.sessions.hear(Reading(0.1, 2.0, Unit.G))
    desk.sessions.hear(Reading(0.1, 3.0, Unit.G))
    live = desk.sessions.current.live if desk.sessions.current else None
    assert live is not None
    assert (live.t, live.pan_g) == (0.102, 3.0)


def taken_up(rig: Rig, before: Desk, gap_s: float, **changed: object) -> Desk:
    """The desk after a crash and a restart."""
    before.crash(rig.journal)
    time = Time()
    time.t = before.time.t + gap_s
    found = find_interrupted(rig.journal, "station", time.now())
    assert found is not None
    after = Desk(rig.config.model_copy(update=changed), time)
    after.sessions.take_up(found)
    return after


def test_a_crashed_session_goes_on_where_it_was(rig: Rig, desk: Desk) -> None:
    desk.hear([*CUP, *LENTILS])
    desk.obey(Next())
    desk.obey(Confirm("lid"))
    desk.obey(Note("spoon bent"))
    stopped_t = desk.time.t
    after = taken_up(rig, desk, gap_s=30.0)
    assert after.sessions.time.now() == stopped_t + 30.0
    after.sessions.hear(link(LinkState.LIVE))
    after.entries += after.sessions.take()
    after.time.t += 0.1
    after.hear([(130.0, 1.0), *YOGURT, *LIFT])
    assert [e.event for e in after.events][:2] == ["signal_lost", "signal_back"]
    assert after.portions == ["yogurt"]
    assert after.names[-1] == "finished"
    assert not [entry for entry in after.entries if isinstance(entry, Begun | Ended)]
    back = next(e for e in after.events if isinstance(e, SignalBack))
    assert back.gap_s == pytest.approx(30.0)
    assert after.events[-1].build == 1


def test_what_was_undone_before_a_crash_is_undone_after_it(rig: Rig, desk: Desk) -> None:
    desk.hear([*CUP, *LENTILS])
    desk.obey(Next())
    desk.obey(Undo())
    before = desk.sessions.current
    after = taken_up(rig, desk, gap_s=1.0)
    assert before is not None
    assert after.sessions.current is not None
    assert after.sessions.current.live == before.live


def test_two_crashes_in_a_row(rig: Rig, desk: Desk) -> None:
    desk.hear([*CUP, *LENTILS])
    once = taken_up(rig, desk, gap_s=5.0)
    once.entries += once.sessions.take()
    twice = taken_up(rig, once, gap_s=5.0)
    twice.sessions.hear(link(LinkState.LIVE))
    twice.entries += twice.sessions.take()
    told = [e for e in (*once.events, *twice.events) if isinstance(e, SignalLost | SignalBack)]
    assert [event.event for event in told] == ["signal_lost", "signal_back"]


def test_after_half_an_hour_a_crashed_session_is_ended(rig: Rig, desk: Desk) -> None:
    desk.hear([*CUP, *LENTILS])
    after = taken_up(rig, desk, gap_s=1801.0)
    after.entries += after.sessions.take()
    assert after.sessions.current is None
    assert sorted(desk.portions + after.portions) == ["lentils", "yogurt"]
    assert after.names[-1] == "finished"
    assert isinstance(after.entries[-1], Ended)


def test_another_scale_does_not_go_on_with_the_build(rig: Rig, desk: Desk) -> None:
    desk.hear([*CUP, *LENTILS])
    after = taken_up(rig, desk, gap_s=1.0, division_g=0.5)
    after.entries += after.sessions.take()
    assert after.sessions.current is None
    assert sorted(desk.portions + after.portions) == ["lentils", "yogurt"]
    assert after.names[-1] == "finished"
    assert isinstance(after.entries[-1], Ended)


def test_readings_that_nothing_needs_any_more_are_not_read(rig: Rig, desk: Desk) -> None:
    desk.hear(WHOLE_BUILD)
    desk.crash(rig.journal)
    with closing(sqlite3.connect(rig.journal)) as db, db:
        db.execute("DROP TRIGGER record_holds")
        db.execute("UPDATE record SET chunk = x'00' WHERE chunk IS NOT NULL")
    ended = desk.time.t
    with pytest.raises(JournalError, match="was changed after it was written"):
        find_interrupted(rig.journal, "station", desk.time.now())
    desk.time.t = ended + 1801.0
    found = find_interrupted(rig.journal, "station", desk.time.now())
    assert found is not None
    assert found.session is None
    assert ended - FLUSH_S <= found.last_t <= ended


def test_a_core_that_now_says_otherwise_does_not_go_on(rig: Rig, desk: Desk) -> None:
    """As after an update of the program: what is stored stays as it was told."""
    desk.hear([*CUP, *LENTILS])
    settled = [entry for entry in desk.entries if isinstance(entry, Happened) and entry.events]
    other = replace(settled[-1], events=(replace(settled[-1].events[0], t=0.0),))
    desk.entries[desk.entries.index(settled[-1])] = other
    after = taken_up(rig, desk, gap_s=1.0)
    assert after.sessions.current is None
    assert [type(entry) for entry in after.sessions.take()] == [Ended]


def test_nothing_is_taken_up_after_an_orderly_end(rig: Rig, desk: Desk) -> None:
    desk.hear(CUP)
    desk.sessions.end()
    desk.entries += desk.sessions.take()
    desk.crash(rig.journal)
    assert find_interrupted(rig.journal, "station", desk.time.now()) is None
    assert find_interrupted(rig.journal, "another", desk.time.now()) is None


def test_a_session_that_crashed_before_its_first_reading(rig: Rig, desk: Desk) -> None:
    desk.entries += desk.sessions.take()
    desk.crash(rig.journal)
    found = find_interrupted(rig.journal, "station", desk.time.now())
    assert isinstance(found, Interrupted)
    assert found.session is not None
    assert (found.last_t, found.gap_s) == (0.0, 0.0)


def in_ounces(script: Script) -> list[Reading]:
    """What a display in steps of 0.01 oz shows that names no unit."""
    return [
        Reading(reading.t, round(reading.weight / GRAMS[Unit.OZ], 2))
        for reading in readings(script)
    ]


def test_the_unit_that_was_said_counts_from_the_first_reading(rig: Rig) -> None:
    rig.config = rig.config.model_copy(update={"unit": "oz", "division_g": 0.01 * GRAMS[Unit.OZ]})
    desk = Desk(rig.config)
    desk.sessions.choose(CUP_STANDARD)
    desk.listen(in_ounces([*CUP, *LENTILS]))
    assert desk.sessions.current is not None
    assert desk.sessions.current.live is not None
    assert desk.sessions.current.live.net_g == pytest.approx(120, abs=1)
    assert "unit_changed" not in desk.names
    stored = [r for e in desk.entries if isinstance(e, Happened) for r in e.readings]
    assert [reading.unit for reading in stored[:3]] == [Unit.OZ, None, None]
    assert all(reading.unit is None for reading in stored[1:])


def test_a_unit_that_the_scale_names_counts_against_what_was_said(rig: Rig) -> None:
    rig.config = rig.config.model_copy(update={"unit": "oz"})
    desk = Desk(rig.config)
    desk.sessions.choose(CUP_STANDARD)
    desk.hear([*CUP, *LENTILS])
    assert desk.sessions.current is not None
    assert desk.sessions.current.live is not None
    assert desk.sessions.current.live.net_g == pytest.approx(120, abs=1)
