"""The check of the day, from the journal to a session's accuracy."""

from __future__ import annotations

import asyncio
import json
import time
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

import pytest

from scaled.cli import main
from scaled.config import StationConfig
from scaled.core.accuracy import ByVerification
from scaled.core.errors import CommandRefused
from scaled.core.event_line import event_line
from scaled.core.events import Portion
from scaled.records.export import export_lines
from scaled.records.journal import Journal
from scaled.records.query import Selection, events, sessions
from scaled.records.reader import Records
from scaled.station.day_check import CheckState, DayCheck, Fitness, find_day_check
from tests.records.checks import scale_check
from tests.station.rig import NOON, WHOLE_BUILD, until

if TYPE_CHECKING:
    from pathlib import Path

    from scaled.records.check import ScaleCheck
    from scaled.records.session import SessionInfo
    from tests.station.rig import Rig

MORNING = NOON - timedelta(hours=4)


def config(rule: str = "allow", **others: str) -> StationConfig:
    said = {"device": "scale", "format": "ascii-stream", "name": "line-1", "division": "1 g"}
    return StationConfig.model_validate(said | {"check_of_the_day": rule} | others)


def stands(rule: str, check: ScaleCheck | None, now: datetime = NOON) -> CheckState:
    return DayCheck(config(rule), check).state(now)


GOOD = scale_check(at=MORNING)
BAD = scale_check(1.003, at=MORNING)


@pytest.mark.parametrize(
    ("rule", "check", "fitness", "flagged", "refused"),
    [
        ("allow", None, Fitness.MISSING, False, False),
        ("flag", None, Fitness.MISSING, True, False),
        ("refuse", None, Fitness.MISSING, True, True),
        ("allow", GOOD, Fitness.FIT, False, False),
        ("flag", GOOD, Fitness.FIT, False, False),
        ("refuse", GOOD, Fitness.FIT, False, False),
        ("allow", BAD, Fitness.UNFIT, True, False),
        ("flag", BAD, Fitness.UNFIT, True, False),
        ("refuse", BAD, Fitness.UNFIT, True, True),
    ],
)
def test_what_follows(
    rule: str, check: ScaleCheck | None, fitness: Fitness, flagged: bool, refused: bool
) -> None:
    state = stands(rule, check)
    assert (state.fitness, state.flagged, state.refused) == (fitness, flagged, refused)
    assert (state.checked_at, bool(state.table)) == ((MORNING, True) if check else (None, False))


def test_it_counts_on_its_own_day() -> None:
    assert stands("flag", GOOD, NOON + timedelta(days=1)).fitness is Fitness.MISSING
    before = MORNING - timedelta(hours=1)  # a wall clock that was set back
    assert stands("flag", GOOD, before).fitness is Fitness.MISSING


def test_days_are_those_of_the_clock_on_the_wall(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TZ", "Etc/GMT+8")  # eight hours behind UTC
    time.tzset()
    try:
        late = scale_check(at=datetime(2026, 11, 25, 23, 30, tzinfo=UTC))
        same_day = datetime(2026, 11, 26, 7, 59, tzinfo=UTC)
        assert stands("flag", late, same_day).fitness is Fitness.FIT
        next_day = same_day + timedelta(minutes=2)
        assert stands("flag", late, next_day).fitness is Fitness.MISSING
    finally:
        monkeypatch.undo()
        time.tzset()


def test_portions_inherit_what_it_found_while_it_counts() -> None:
    plate = config("flag", **{"class": "III"})
    check = DayCheck(plate, BAD)
    assert check.accuracy(NOON) == BAD.verification.accuracy
    assert check.accuracy(NOON + timedelta(days=1)) == plate.accuracy


def test_the_newest_check_of_this_very_scale_is_found(tmp_path: Path) -> None:
    journal = tmp_path / "journal.db"
    with closing(Journal.open(journal)) as writer:
        writer.note_check(BAD, [])
        writer.note_check(scale_check(at=MORNING + timedelta(hours=1)), [])
        writer.note_check(scale_check(1.003, "line-2", MORNING + timedelta(hours=2)), [])
        writer.note_check(scale_check(1.003, at=MORNING + timedelta(hours=3), device="other"), [])
    assert find_day_check(journal, config()).state(NOON).fitness is Fitness.FIT
    assert find_day_check(journal, config(device="new")).state(NOON).fitness is Fitness.MISSING
    coarse = find_day_check(journal, config(division="2 g"))
    assert coarse.state(NOON).fitness is Fitness.MISSING


async def checked(rig: Rig, span: float = 1.0) -> ScaleCheck:
    """Record a check of the rig's scale this morning."""
    return await asyncio.to_thread(_checked, rig, span)


def _checked(rig: Rig, span: float) -> ScaleCheck:
    check = replace(scale_check(span, "station", MORNING), device=rig.line.device)
    with closing(Journal.open(rig.journal)) as journal:
        journal.note_check(check, [])
    return check


def stored(rig: Rig) -> tuple[SessionInfo, list[Portion]]:
    """The one session, and its portions."""
    with Records.open(rig.journal) as records:
        (session,) = sessions(records, Selection())
        said = events(records, session)
        return session.info, [event for event in said if isinstance(event, Portion)]


def exported(rig: Rig, form: str) -> list[str]:
    with Records.open(rig.journal) as records:
        return list(export_lines(records, form, Selection()))


def ruled(rig: Rig, rule: str) -> None:
    rig.config = rig.config.model_copy(update={"check_of_the_day": rule})


async def test_a_session_is_judged_by_it(rig: Rig) -> None:
    check = await checked(rig, 1.003)
    async with rig.station() as station:
        await rig.show(station, WHOLE_BUILD)
        await rig.until_told("finished")
        assert station.state.check is not None
        assert station.state.check.fitness is Fitness.UNFIT
    info, portions = await asyncio.to_thread(stored, rig)
    assert info.scale_check == "unfit"
    accuracy = info.accuracy
    assert isinstance(accuracy, ByVerification)
    assert accuracy.error_g == pytest.approx(check.verification.accuracy.error_g, abs=1e-6)
    for portion in portions:
        assert portion.net_g is not None
        wanted = accuracy.portion_u_g(portion.net_g)
        assert portion.u_scale_g == pytest.approx(wanted, abs=1e-3)


async def test_what_a_scale_so_wrong_cannot_judge_is_said_before_the_first_bowl(rig: Rig) -> None:
    await checked(rig, 1.048)
    async with rig.station() as station:
        await until(lambda: station.state.session is not None)
        session = station.state.session
    assert session is not None
    line, _ = session.unfit  # the second is of the whole build
    assert line.startswith("step 2 (yogurt), under and over: a band of 8 g is 3.")
    assert "use a truer scale, or have this one repaired" in line


async def test_an_exported_session_is_judged_alike_again(
    rig: Rig, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    await checked(rig, 1.003)
    async with rig.station() as station:
        await rig.show(station, WHOLE_BUILD)
        await rig.until_told("finished")
    _, portions = await asyncio.to_thread(stored, rig)
    rows, lines = [await asyncio.to_thread(exported, rig, form) for form in ("csv", "recording")]
    assert rows[0].endswith(",scale_check\r\n")
    assert all(row.endswith(",unfit\r\n") for row in rows[1:-1])
    recording = tmp_path / "again.csv"
    recording.write_text("".join(lines), encoding="utf-8")
    replay = ["replay", str(recording), "--profile", str(rig.profile)]
    assert await asyncio.to_thread(main, replay) == 0
    told = capsys.readouterr().out.splitlines()
    again = [line for line in told if json.loads(line)["event"] == "portion"]
    assert again == [event_line(portion) for portion in portions]


async def test_without_it_builds_are_refused_where_that_is_the_rule(rig: Rig) -> None:
    ruled(rig, "refuse")
    async with rig.station() as station:
        await rig.show(station, [(0.0, 0.5)])
        assert station.state.session is None
        with pytest.raises(CommandRefused) as caught:
            await station.choose("lentil-cup")
        assert str(caught.value) == (
            "profile: this scale was not checked today; check it: press S on its screen, or run:"
            " scaled scale verify --station station"
        )
        await station.sign_in("C-014")  # who works here may be said all the same
    await checked(rig)
    async with rig.station() as station:
        await until(lambda: station.state.session is not None)


async def test_with_an_unfit_scale_builds_are_refused_too(rig: Rig) -> None:
    ruled(rig, "refuse")
    await checked(rig, 1.003)
    async with rig.station() as station:
        with pytest.raises(CommandRefused, match="this scale is not fit, says today's check"):
            await station.choose("lentil-cup")


async def test_a_session_goes_on_past_midnight_and_the_next_is_refused(rig: Rig) -> None:
    ruled(rig, "refuse")
    await checked(rig)
    async with rig.station() as station:
        await rig.show(station, [(0.0, 0.5)])
        rig.time.t += 24 * 3600
        await rig.show(station, WHOLE_BUILD)
        await rig.until_told("finished")
        with pytest.raises(CommandRefused, match="badge: this scale was not checked today"):
            await station.sign_in("C-015")
