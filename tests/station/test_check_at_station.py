"""A check of the scale that the running station makes on its own readings."""

from __future__ import annotations

import asyncio
from dataclasses import astuple, replace
from typing import TYPE_CHECKING

import pytest

from scaled.core.accuracy import ByVerification
from scaled.core.checkup import Spot, Trial
from scaled.core.command import Confirm, Next, Undo
from scaled.core.errors import CommandRefused
from scaled.core.events import Portion
from scaled.core.load_asked import Hitch
from scaled.core.reading import Reading
from scaled.records.check import SCALE_CHECKED
from scaled.records.query import Selection, StoredCheck, checks, sessions
from scaled.records.reader import Records
from scaled.records.session import instant_text, parse_instant
from scaled.station.check_plan import CheckWanted
from scaled.station.check_run import CheckRun
from scaled.station.day_check import Fitness
from scaled.station.link import LinkState
from tests.core.checked import checkup
from tests.records.checks import verified
from tests.station.checks import PLATED, planned
from tests.station.rig import CUP, LENTILS, LIFT, NOON, WHOLE_BUILD, until

if TYPE_CHECKING:
    from scaled.records.session import SessionInfo
    from scaled.station.check_run import CheckingState
    from scaled.station.station import Station
    from tests.station.rig import Rig

WANTED = CheckWanted(weights=("500 g",))
"""Eight loads: each 4 s on the pan and 4 s off it."""


def plated(rig: Rig, **keys: object) -> None:
    """Let the station's table say what a check must know, and more."""
    keys = {"device": rig.line.device, "profile": str(rig.profile), "stale_s": 60.0} | keys
    rig.config = type(rig.config).model_validate(PLATED | {"name": "station"} | keys)


def checking(station: Station) -> CheckingState:
    found = station.state.checking
    assert found is not None
    return found


async def waiting(rig: Rig, station: Station) -> str:
    """Let the session begin on an empty pan; its id."""
    await rig.show(station, [(0.0, 1.0)])
    await until(lambda: station.state.live is not None)
    assert station.state.session is not None
    return station.state.session.session


def session_of(station: Station) -> str | None:
    return None if station.state.session is None else station.state.session.session


async def obey(rig: Rig, station: Station, span: float = 1.0) -> None:
    """Do all that is asked, at a scale of that span, to the end."""
    while (asked := station.state.checking) is not None:
        await rig.show(station, [(0.0 if asked.empty else span * asked.load.load_g, 4.0)])


def stored(rig: Rig) -> list[StoredCheck]:
    with Records.open(rig.journal) as records:
        assert records.verify().problems == ()
        return list(checks(records, Selection()))


def infos(rig: Rig) -> list[SessionInfo]:
    with Records.open(rig.journal) as records:
        return [session.info for session in sessions(records, Selection())]


def kinds(rig: Rig) -> list[str]:
    with Records.open(rig.journal) as records:
        return [
            record.kind
            for seq in range(1, records.count + 1)
            if (record := records.at(seq)).kind.startswith(("session", SCALE_CHECKED))
        ]


async def test_it_leads_through_every_load_and_keeps_what_came_of_it(rig: Rig) -> None:
    plated(rig)
    async with rig.station() as station:
        await station.sign_in("C-014")
        await station.begin_check(WANTED)
        begun = checking(station)
        assert (begun.badge, begun.number, begun.empty, begun.hitch) == ("C-014", 1, True, None)
        assert begun.table == "OIML R 76-1:2006, Table 6, class III, in service (3.5.2)"
        assert [load.trial for load in begun.loads] == (
            [Trial.LINEARITY] + 3 * [Trial.REPEATABILITY] + 4 * [Trial.ECCENTRICITY]
        )
        assert (begun.loads[7].weights, begun.loads[7].spot) == ("500 g", Spot.BACK_LEFT)
        await rig.show(station, [(0.0, 4.0), (501.0, 4.0)])
        await until(lambda: checking(station).number == 2)
        assert checking(station).errors_g == pytest.approx((1.0,))
        await obey(rig, station)
        state = station.state
    assert state.check is not None
    assert (state.check.fitness, state.check.badge) == (Fitness.FIT, "C-014")
    assert [finding.trial for finding in state.check.findings] == list(Trial)
    (found,) = await asyncio.to_thread(stored, rig)
    assert found.check.verification.findings == state.check.findings
    assert (found.check.device, found.check.badge) == (rig.line.device, "C-014")


async def test_the_session_after_it_knows_the_cook(rig: Rig) -> None:
    plated(rig)
    async with rig.station() as station:
        await station.sign_in("C-014")
        await rig.show(station, WHOLE_BUILD)
        await rig.until_told("finished")
        await station.begin_check(WANTED)
        await obey(rig, station)
        await until(lambda: session_of(station) is not None)
    before, after = (await asyncio.to_thread(infos, rig))[-2:]
    assert (before.badge, after.badge) == ("C-014", "C-014")
    assert (before.habit, after.habit) == (None, {"lentils": (0.0,), "yogurt": (0.0,)})


def test_its_instant_is_the_one_that_the_journal_keeps() -> None:
    """A screen knows a new check by it, before and after a restart."""
    at = NOON.replace(microsecond=123_456)
    check = planned(checkup()).record(verified(), at, "test")
    assert check.checked_at == NOON.replace(microsecond=123_000)
    assert parse_instant(instant_text(check.checked_at)) == check.checked_at


async def test_builds_are_judged_by_it_at_once(rig: Rig) -> None:
    plated(rig)
    async with rig.station() as station:
        before = await waiting(rig, station)
        await station.begin_check(WANTED)
        await obey(rig, station, 1.002)
        assert session_of(station) not in {None, before}
        await rig.show(station, WHOLE_BUILD)
        await rig.until_told("finished")
    (found,) = await asyncio.to_thread(stored, rig)

    def infos() -> list[object]:
        with Records.open(rig.journal) as records:
            return [one.info.accuracy for one in sessions(records, Selection())]

    by_class, by_check = await asyncio.to_thread(infos)
    assert not isinstance(by_class, ByVerification)
    assert isinstance(by_check, ByVerification)
    accuracy = found.check.verification.accuracy  # as the journal rounds it
    assert astuple(by_check) == pytest.approx(astuple(accuracy), abs=1e-6)
    portions = [event for event in rig.watcher.events if isinstance(event, Portion)]
    assert [portion.step for portion in portions] == ["lentils", "yogurt"]
    for portion in portions:
        assert portion.net_g is not None
        wanted = accuracy.portion_u_g(portion.net_g)
        assert portion.u_scale_g == pytest.approx(wanted, abs=1e-3)


async def test_no_build_is_followed_meanwhile(rig: Rig) -> None:
    plated(rig)
    async with rig.station() as station:
        await waiting(rig, station)
        await station.begin_check(WANTED)
        live = station.state.live
        await rig.show(station, [*CUP, *LENTILS])
        await until(lambda: checking(station).shown_g == 130.0)
        assert station.state.live == live
    assert rig.watcher.names == ["signal_lost"]


async def test_the_rule_of_the_day_is_satisfied_without_a_restart(rig: Rig) -> None:
    plated(rig, check_of_the_day="refuse")
    async with rig.station() as station:
        await rig.show(station, [(0.0, 0.5)])
        await until(lambda: station.state.link.state is LinkState.LIVE)
        before = station.state.session
        await station.begin_check(WANTED)
        await obey(rig, station)
        session = station.state.session
    assert before is None
    assert session is not None
    assert session.profile == "lentil-cup"


async def test_a_scale_found_unfit_is_refused_where_that_is_the_rule(rig: Rig) -> None:
    plated(rig, check_of_the_day="refuse")
    async with rig.station() as station:
        await station.begin_check(WANTED)
        await obey(rig, station, 1.01)
        state = station.state
        assert state.check is not None
        assert (state.check.fitness, state.check.refused) == (Fitness.UNFIT, True)
        assert state.session is None
        with pytest.raises(CommandRefused, match="not fit, says today's check"):
            await station.choose("lentil-cup")
        await station.begin_check(WANTED)  # it was repaired
        await obey(rig, station)
        assert station.state.session is not None


async def test_a_session_ends_when_its_scale_is_found_unfit_and_that_is_refused(
    rig: Rig,
) -> None:
    plated(rig, check_of_the_day="refuse")
    async with rig.station() as station:
        for span in (1.0, 1.01):
            await station.begin_check(WANTED)
            await obey(rig, station, span)
        assert station.state.session is None
        with pytest.raises(CommandRefused, match="nothing is being built"):
            await station.command(Confirm("lid"))
    assert await asyncio.to_thread(kinds, rig) == [
        SCALE_CHECKED,
        "session_started",
        SCALE_CHECKED,
        "session_ended",
    ]


async def test_a_scale_found_too_bad_for_the_dish_begins_no_session(rig: Rig) -> None:
    plated(rig)
    async with rig.station() as station:
        await station.begin_check(WANTED)
        await obey(rig, station, 1.2)
        assert station.state.session is None
        with pytest.raises(CommandRefused, match="the scale can judge none of its steps"):
            await station.choose("lentil-cup")


async def test_it_cannot_begin_with_food_on_the_scale(rig: Rig) -> None:
    plated(rig)
    async with rig.station() as station:
        await rig.show(station, [(0.0, 1.0), (10.0, 2.0), *LENTILS])
        with pytest.raises(CommandRefused, match="a build is on the scale; finish it or lift"):
            await station.begin_check(WANTED)
        assert station.state.checking is None
        await rig.show(station, LIFT)
        await until(lambda: rig.watcher.names[-1] == "lifted")
        await station.begin_check(WANTED)


async def test_an_empty_bowl_is_to_be_taken_off_first(rig: Rig) -> None:
    plated(rig)
    async with rig.station() as station:
        await rig.show(station, CUP)
        await station.begin_check(WANTED)
        await rig.show(station, [(10.0, 4.0)])
        await until(lambda: checking(station).hitch is Hitch.NOT_ZERO)
        await obey(rig, station)
        assert station.state.check is not None
        assert station.state.check.fitness is Fitness.FIT


async def test_abandoned_before_any_weight_the_session_goes_on(rig: Rig) -> None:
    plated(rig)
    async with rig.station() as station:
        before = await waiting(rig, station)
        await station.begin_check(WANTED)
        await station.abandon_check()
        assert station.state.checking is None
        assert session_of(station) == before
        await rig.show(station, WHOLE_BUILD)
        await rig.until_told("finished")
    assert rig.watcher.names[:3] == ["signal_lost", "signal_back", "build_started"]
    assert await asyncio.to_thread(stored, rig) == []


async def test_abandoned_with_weights_on_they_come_off_before_builds_are_followed(
    rig: Rig,
) -> None:
    plated(rig)
    async with rig.station() as station:
        before = await waiting(rig, station)
        await station.begin_check(WANTED)
        await rig.show(station, [(0.0, 4.0), (500.0, 2.0)])
        await until(lambda: checking(station).shown_g == 500.0)
        await station.abandon_check()
        left = checking(station)
        assert (left.abandoned, left.empty, left.hitch) == (True, True, None)
        await rig.show(station, [(500.0, 10.0)])
        assert checking(station).abandoned  # and so it stays until they are off
        await rig.show(station, [(0.0, 2.0)])
        await until(lambda: station.state.checking is None)
        assert session_of(station) == before
        assert "build_started" not in rig.watcher.names
    assert await asyncio.to_thread(stored, rig) == []


async def test_abandoned_at_its_very_end_nothing_is_kept(rig: Rig) -> None:
    plated(rig)
    async with rig.station() as station:
        await station.begin_check(WANTED)
        for _ in range(8):
            await rig.show(station, [(0.0, 4.0), (500.0, 4.0)])
        await until(lambda: not checking(station).to_go)
        await station.abandon_check()
        await rig.show(station, [(0.0, 4.0)])
        await until(lambda: station.state.checking is None)
        assert station.state.check is not None
        assert station.state.check.fitness is Fitness.MISSING
    assert await asyncio.to_thread(stored, rig) == []


async def test_a_lost_scale_is_told_and_the_check_goes_on_when_it_is_back(rig: Rig) -> None:
    plated(rig)
    async with rig.station() as station:
        await waiting(rig, station)
        await station.begin_check(WANTED)
        await rig.show(station, [(0.0, 4.0), (500.0, 4.0), (0.0, 4.0)])
        await until(lambda: checking(station).number == 2)
        rig.line.unplug()
        await until(lambda: station.state.link.state is LinkState.LOST)
        rig.time.t += 30.0
        assert checking(station).number == 2
        rig.line.plug()
        await until(lambda: station.state.link.state is LinkState.OPENING)
        await obey(rig, station)
        assert station.state.check is not None
        assert station.state.check.fitness is Fitness.FIT
    assert len(await asyncio.to_thread(stored, rig)) == 1
    assert rig.watcher.names == ["signal_lost"]


async def test_abandoned_while_the_scale_is_lost_the_session_waits_for_it(rig: Rig) -> None:
    plated(rig)
    async with rig.station() as station:
        await waiting(rig, station)
        await station.begin_check(WANTED)
        rig.line.unplug()
        await until(lambda: station.state.link.state is LinkState.LOST)
        await station.abandon_check()
        assert station.state.checking is None
        rig.line.plug()
        await until(lambda: station.state.link.state is LinkState.OPENING)
        await rig.show(station, [(0.0, 0.5)])
        await rig.until_told("signal_back")
    assert rig.watcher.names == ["signal_lost", "signal_back"]


async def test_a_station_that_stops_amid_a_check_keeps_nothing_of_it(rig: Rig) -> None:
    plated(rig)
    async with rig.station() as station:
        await station.begin_check(WANTED)
        await rig.show(station, [(0.0, 4.0), (500.0, 4.0)])
    assert await asyncio.to_thread(stored, rig) == []
    async with rig.station() as station:
        assert station.state.checking is None
        await rig.show(station, WHOLE_BUILD)
        await rig.until_told("finished")


async def test_what_is_refused_meanwhile(rig: Rig) -> None:
    plated(rig)
    async with rig.station() as station:
        await waiting(rig, station)
        with pytest.raises(CommandRefused, match="abandon: no check of the scale is under way"):
            await station.abandon_check()
        await station.begin_check(WANTED)
        busy = "the scale is being checked; finish that or abandon it first"
        for asked in (
            station.command(Next()),
            station.command(Undo()),
            station.sign_in("C-015"),
            station.choose("winter-barley-bowl"),
            station.begin_check(WANTED),
        ):
            with pytest.raises(CommandRefused, match=busy):
                await asked


@pytest.mark.parametrize(
    ("without", "wanted", "line"),
    [
        (
            "capacity",
            WANTED,
            "in the station's configuration, capacity: missing; write it as it stands on the"
            " scale's plate",
        ),
        (
            None,
            CheckWanted(),
            "weight: give each test weight at hand, at least 1 and at most 10",
        ),
        (
            None,
            CheckWanted(weights=("7 kg",)),
            "weight: 7 kg is more than the scale's Max of 6 kg",
        ),
        (
            None,
            CheckWanted(weights=("heavy",)),
            'weight: "heavy" is not a weight; write one such as "128 g"',
        ),
        (None, replace(WANTED, standard="mine"), 'standard: "mine" is not known; write'),
        (None, replace(WANTED, weight_error="5 g"), "weight-error: too much: at 500 g, middle"),
    ],
)
async def test_a_check_that_cannot_be_made_says_why(
    rig: Rig, without: str | None, wanted: CheckWanted, line: str
) -> None:
    plated(rig)
    if without is not None:
        rig.config = rig.config.model_copy(update={f"{without}_g": None})
    async with rig.station() as station:
        with pytest.raises(CommandRefused) as caught:
            await station.begin_check(wanted)
        assert str(caught.value).startswith(f"check: {line}")
        assert station.state.checking is None


async def test_what_is_left_out_is_as_the_configuration_has_it(rig: Rig) -> None:
    plated(rig, test_weights=["2 kg"], test_weight_error="0.1 g", check_standard="nist-hb44")
    async with rig.station() as station:
        await station.begin_check(CheckWanted())
        begun = checking(station)
        assert begun.table == "NIST Handbook 44, 2.20, Table 6, class III, maintenance"
        assert {load.weights for load in begun.loads} == {"2 kg"}
        assert station.state.check is not None
        assert station.state.check.weights == ("2 kg",)


def test_a_check_believes_the_unit_that_was_said() -> None:
    plan = planned(checkup())
    station = plan.station.model_copy(update={"unit": "kg"})
    run = CheckRun(replace(plan, station=station))
    for tick in range(40):
        run.read(Reading(tick / 10, 0.5 if tick > 20 else 0.0))
    assert run.state.shown_g == 500.0
