from __future__ import annotations

import asyncio
from dataclasses import replace
from typing import TYPE_CHECKING, NoReturn

import pytest

from scaled.core.command import Confirm, Next, Note
from scaled.core.errors import CommandRefused, ConfigError, JournalError, LinkRefused
from scaled.core.event_line import event_line
from scaled.core.events import Event, Finished, SignalBack, SignalLost
from scaled.core.live import StepState
from scaled.core.profile import parse_profile
from scaled.protocol import LineSettings
from scaled.records.query import Selection, StoredSession, events, readings, sessions
from scaled.records.reader import Records
from scaled.station.link import LinkState
from scaled.station.open_session import OpenSession
from scaled.station.recovery import core_lines
from scaled.station.writer import Begun, Ended, Entry, Happened, Writer
from tests.station.rig import (
    CUP,
    LENTILS,
    LIFT,
    PROFILE,
    WHOLE_BUILD,
    YOGURT,
    portions,
    until,
)

if TYPE_CHECKING:
    from collections.abc import Sequence
    from concurrent.futures import ThreadPoolExecutor

    from scaled.config import StationConfig
    from scaled.core.reading import Reading
    from scaled.records.journal import Journal
    from scaled.station.state import StationState
    from scaled.station.station import Station
    from tests.station.rig import Rig


class Gate(Writer):
    """A disk that takes its time, or is full at a certain event."""

    def __init__(self, journal: Journal, thread: ThreadPoolExecutor) -> None:
        super().__init__(journal, thread)
        self.passing = asyncio.Event()
        self.passing.set()
        self.stored: list[Entry] = []
        self.full_at: str | None = None
        self.broken = False
        self.asked = 0

    def waits(self) -> bool:
        return self.asked > 0 and not self.passing.is_set()

    async def write(self, entries: Sequence[Entry]) -> None:
        self.asked += 1
        await self.passing.wait()
        self.asked -= 1
        happened = [event for e in entries if isinstance(e, Happened) for event in e.events]
        if self.broken:
            raise RuntimeError("our own mistake")
        if self.full_at in [event.event for event in happened]:
            raise JournalError("journal.db", "the disk is full", "free some space")
        await super().write(entries)
        self.stored += entries


async def stored(rig: Rig) -> list[tuple[StoredSession, list[Event]]]:
    """All sessions with their events, in order."""

    def read() -> list[tuple[StoredSession, list[Event]]]:
        with Records.open(rig.journal) as records:
            found = sessions(records, Selection())
            return [(session, list(events(records, session))) for session in found]

    return await asyncio.to_thread(read)


def changed(config: StationConfig, **keys: str | None) -> StationConfig:
    return config.model_copy(update=keys)


async def raw_readings(rig: Rig, session: StoredSession) -> tuple[Reading, ...]:
    def read() -> tuple[Reading, ...]:
        with Records.open(rig.journal) as records:
            return readings(records, session.info.session)

    return await asyncio.to_thread(read)


def done(state: StationState) -> list[str]:
    """Ids of the steps that a state shows as final."""
    ladder = state.live.ladder if state.live else ()
    return [rung.step for rung in ladder if rung.state is StepState.DONE]


async def test_a_build_is_followed_told_and_stored(rig: Rig) -> None:
    async with rig.station() as station:
        await rig.show(station, WHOLE_BUILD)
        await rig.until_told("finished")
    assert rig.watcher.names[0] == "build_started"
    assert rig.watcher.names[-1] == "finished"
    assert sorted(portions(rig.watcher.events)) == ["lentils", "yogurt"]
    assert rig.watcher.missed == 0
    ((session, kept),) = await stored(rig)
    assert [event_line(e) for e in kept] == [event_line(e) for e in rig.watcher.events]
    assert session.end is not None
    assert (session.info.profile_id, session.info.division_g) == ("lentil-cup", 1.0)
    assert (session.info.device, session.info.format) == (rig.line.device, "ascii-stream")


async def test_a_session_replays_to_the_stored_events(rig: Rig) -> None:
    async with rig.station() as station:
        await rig.show(station, [*CUP, *LENTILS])
        await station.command(Next())
        await station.command(Confirm("lid"))
        await rig.show(station, YOGURT)
        await station.command(Note("spoon bent"))
        await rig.show(station, [*LIFT, *CUP, *LENTILS])
    ((session, kept),) = await stored(rig)
    raw = await raw_readings(rig, session)
    again = OpenSession(session.info, parse_profile(session.info.profile_text, ""), 0.0)
    told = again.replay(raw, kept)
    assert len(raw) == rig.time.t * 10
    assert {"tapped", "confirmed", "noted", "finished"} < {event.event for event in kept}
    assert core_lines(told) == core_lines(kept)


async def test_clients_are_told_only_what_is_stored(rig: Rig) -> None:
    async def check(station: Station) -> int:
        checked = 0
        with station.joined() as feed:
            while await feed.wait():
                lines = [event_line(event) for event in feed.take().events]
                if lines:
                    ((_, kept),) = await stored(rig)
                    assert set(lines) <= {event_line(event) for event in kept}
                checked += len(lines)
        return checked

    async with asyncio.TaskGroup() as tasks, rig.station() as station:
        checking = tasks.create_task(check(station))
        await rig.show(station, WHOLE_BUILD)
        await rig.until_told("finished")
    assert checking.result() == len(rig.watcher.events) > 0


async def test_a_slow_disk_holds_back_what_is_final_but_not_the_scale(rig: Rig) -> None:
    async with (
        Gate.open(rig.journal) as gate,
        rig.station_on(gate) as station,
        asyncio.TaskGroup() as tasks,
    ):
        await rig.show(station, [*CUP, *LENTILS])
        gate.passing.clear()
        pressing = tasks.create_task(station.command(Next()))
        await rig.show(station, YOGURT)  # returns as soon as the station heard it
        assert not pressing.done()
        assert portions(rig.watcher.events) == []
        assert not any(done(state) for state in rig.watcher.states)
        gate.passing.set()
        await pressing
        await until(lambda: done(rig.watcher.states[-1]) == ["lentils"])
        assert portions(rig.watcher.events) == ["lentils"]
    raw = [reading for e in gate.stored if isinstance(e, Happened) for reading in e.readings]
    assert len(raw) == rig.time.t * 10


async def test_when_nothing_can_be_stored_the_station_stops_and_says_so(rig: Rig) -> None:
    with pytest.raises(ExceptionGroup) as raised:  # noqa: PT012
        async with (
            Gate.open(rig.journal) as gate,
            rig.station_on(gate) as station,
            asyncio.TaskGroup() as tasks,
        ):
            gate.full_at = "portion"
            tasks.create_task(rig.show(station, WHOLE_BUILD))
            await until(lambda: station.state.fault is not None)
            raise JournalError("stop", "the", "script")
    assert raised.group_contains(JournalError, match="the disk is full; free some space", depth=2)
    last = rig.watcher.states[-1]
    assert last.fault == "journal.db: the disk is full; free some space"
    assert not done(last)
    assert portions(rig.watcher.events) == []
    with pytest.raises(CommandRefused, match="the station is stopping"):
        await station.command(Next())


async def test_a_command_is_stored_when_it_returns(rig: Rig) -> None:
    async with rig.station() as station:
        await rig.show(station, [*CUP, *LENTILS])
        await station.command(Next())
        ((_, kept),) = await stored(rig)
        assert [e.event for e in kept][-2:] == ["tapped", "portion"]
        assert done(station.state) == ["lentils"]


async def test_a_command_that_could_not_be_stored_fails(rig: Rig) -> None:
    with pytest.raises(ExceptionGroup) as raised:  # noqa: PT012
        async with Gate.open(rig.journal) as gate, rig.station_on(gate) as station:
            gate.full_at = "noted"
            await station.command(Note("x"))
    assert raised.group_contains(JournalError, match="the disk is full", depth=2)


async def test_a_command_lost_by_a_fault_of_ours_is_not_answered_as_stored(rig: Rig) -> None:
    async def ask(station: Station) -> None:
        with pytest.raises(JournalError, match="no longer written to; start the station again"):
            await station.command(Note("x"))

    async with asyncio.TaskGroup() as screens:
        with pytest.raises(ExceptionGroup) as raised:  # noqa: PT012
            async with Gate.open(rig.journal) as gate, rig.station_on(gate) as station:
                gate.broken = True
                screens.create_task(ask(station))
                await until(lambda: station.state.fault is not None)
    assert raised.group_contains(RuntimeError, match="our own mistake", depth=2)
    with pytest.raises(CommandRefused, match="the station is stopping"):
        await station.command(Note("y"))


async def test_a_station_that_has_ended_does_nothing_more(rig: Rig) -> None:
    async with rig.station() as station:
        await rig.show(station, CUP)
    for late in (station.command(Next()), station.sign_in("C-1"), station.choose("lentil-cup")):
        with pytest.raises(CommandRefused, match="the station is stopping; start it again"):
            await late


async def test_stopped_while_the_disk_is_busy_it_still_stores_what_happened(rig: Rig) -> None:
    async def free_the_disk(station: Station, gate: Gate) -> None:
        await until(lambda: station._recorder._over)
        gate.passing.set()

    async with (
        asyncio.TaskGroup() as tasks,
        Gate.open(rig.journal) as gate,
        rig.station_on(gate) as station,
    ):
        await rig.show(station, [*CUP, *LENTILS])
        gate.passing.clear()
        tasks.create_task(free_the_disk(station, gate))
        pressing = tasks.create_task(station.command(Next()))
        await until(gate.waits)
    assert pressing.done()
    last = gate.stored[-1]
    assert isinstance(last, Happened)
    assert "portion" in {event.event for event in last.events}


async def test_unplugged_and_replugged_mid_build_the_build_goes_on(rig: Rig) -> None:
    async with rig.station() as station:
        await rig.show(station, [*CUP, *LENTILS])
        rig.line.unplug()
        await rig.until_told("signal_lost")
        assert station.state.link.state is LinkState.LOST
        await until(lambda: rig.watcher.states[-1].link.state is LinkState.LOST)
        rig.time.t += 7.0
        rig.line.plug()
        await until(lambda: station.state.link.state is LinkState.OPENING)
        await rig.show(station, [*YOGURT, *LIFT])
        await rig.until_told("finished")
    signals = [name for name in rig.watcher.names if name.startswith("signal")]
    assert signals == ["signal_lost", "signal_back"]
    assert sorted(portions(rig.watcher.events)) == ["lentils", "yogurt"]
    lost = next(e for e in rig.watcher.events if isinstance(e, SignalLost))
    back = next(e for e in rig.watcher.events if isinstance(e, SignalBack))
    last_before_s, first_after_s = 5.0, 12.1
    assert (lost.t, lost.build) == (last_before_s, 1)
    assert rig.line.device in lost.reason
    assert back.t == first_after_s
    assert back.gap_s == pytest.approx(first_after_s - last_before_s)
    finished = next(e for e in rig.watcher.events if isinstance(e, Finished))
    assert finished.net_g == pytest.approx(160.0, abs=1.0)


async def test_changing_the_cook_between_builds_begins_another_session(rig: Rig) -> None:
    async with rig.station() as station:
        await rig.show(station, WHOLE_BUILD)
        await rig.until_told("finished")
        rig.time.t += 1.0
        await station.sign_in("C-014")
        assert station.state.session is not None
        assert station.state.session.badge == "C-014"
        await station.sign_in("C-014")  # the same: nothing changes
        await rig.show(station, WHOLE_BUILD)
        await rig.until_told("finished", 2)
    (one, _), (two, kept) = await stored(rig)
    assert (one.info.badge, two.info.badge) == (None, "C-014")
    assert one.end is not None
    assert [e.build for e in kept if e.event == "finished"] == [1]


async def test_changing_the_cook_mid_build_is_refused(rig: Rig) -> None:
    async with rig.station() as station:
        await rig.show(station, [*CUP, *LENTILS])
        with pytest.raises(CommandRefused, match="a build is on the scale; finish it or lift it"):
            await station.sign_in("C-014")
        with pytest.raises(CommandRefused, match="a build is on the scale; finish it or lift it"):
            await station.choose("winter-barley-bowl")
        assert station.state.session is not None
        assert station.state.session.badge is None
    assert len(await stored(rig)) == 1


async def test_a_session_begins_when_a_profile_is_chosen(rig: Rig) -> None:
    rig.config = changed(rig.config, profile=None)
    async with rig.station() as station:
        await rig.show(station, CUP)
        assert (station.state.session, station.state.live) == (None, None)
        with pytest.raises(CommandRefused, match="next: nothing is being built; choose a profile"):
            await station.command(Next())
        await station.sign_in("T-2")
        await station.choose("lentil-cup")
        begun = station.state.session
        assert (begun and begun.badge, begun and begun.profile) == ("T-2", "lentil-cup")
        await rig.show(station, [*CUP, *LENTILS])
        await rig.until_told("build_started")
    ((session, _),) = await stored(rig)
    assert session.info.profile_text == PROFILE


async def test_an_unknown_profile_is_refused(rig: Rig) -> None:
    async with rig.station() as station:
        with pytest.raises(CommandRefused, match="profile: nope: no profile has this id; known:"):
            await station.choose("nope")


async def test_what_cannot_be_opened_is_told_before_anything_is_stored(rig: Rig) -> None:
    rig.config = changed(rig.config, device=rig.line.device + "-gone")
    with pytest.raises(LinkRefused, match="does not exist"):
        async with rig.station():
            pass
    rig.config = changed(rig.config, device=rig.line.device, profile="nope")
    with pytest.raises(ConfigError, match="no profile has this id"):
        async with rig.station():
            pass
    assert await stored(rig) == []


@pytest.mark.parametrize(
    ("said", "line"),
    [
        ({}, LineSettings(4800, "7E1")),
        ({"baud": 19200}, LineSettings(19200, "7E1")),
        ({"baud": 19200, "framing": "8N2"}, LineSettings(19200, "8N2")),
    ],
)
async def test_a_line_is_set_as_such_scales_are_unless_the_user_says_otherwise(
    rig: Rig, said: dict[str, object], line: LineSettings
) -> None:
    set_to: list[LineSettings] = []

    async def open_none(device: str, settings: LineSettings) -> NoReturn:
        set_to.append(settings)
        raise LinkRefused(device, "not there", "plug it in")

    rig.config = rig.config.model_copy(update=said)
    rig.driver = replace(rig.driver, open=open_none, line=LineSettings(4800, "7E1"))
    with pytest.raises(LinkRefused):
        async with rig.station():
            pass
    assert set_to == [line]


async def test_entries_come_in_the_order_things_happened(rig: Rig) -> None:
    async with Gate.open(rig.journal) as gate, rig.station_on(gate) as station:
        await rig.show(station, CUP)
        await station.sign_in("C-1")
    kinds = [type(entry) for entry in gate.stored]
    assert kinds[0] is Begun
    assert kinds[-1] is Ended
    assert kinds.index(Ended) + 1 == kinds.index(Begun, 1)
