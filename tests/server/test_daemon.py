from __future__ import annotations

import asyncio
import logging
import signal
from typing import TYPE_CHECKING, Any

import pytest

from scaled.config import journal_in
from scaled.core.errors import ConfigError, JournalError, LinkRefused, ScaledError
from scaled.core.reading import Reading
from scaled.records.journal import Journal
from scaled.records.query import Selection, sessions
from scaled.records.reader import Records
from scaled.server.daemon import run_daemon
from scaled.station.sessions import Sessions
from tests.conftest import SerialLine
from tests.server.house import ask, told
from tests.station.rig import CUP, DEADLINE_S, LENTILS, PLACED, frame

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    import httpx

    from scaled.station.link import LinkStatus
    from tests.server.house import HouseRig


@pytest.fixture
def second_line(tmp_path: Path) -> Iterator[SerialLine]:
    """Another scale."""
    line = SerialLine(tmp_path / "scale-2")
    line.plug()
    yield line
    line.unplug()


async def ran(house: HouseRig) -> None:
    """Run the daemon until it ends by itself."""
    config = await asyncio.to_thread(lambda: house.config)
    async with asyncio.timeout(DEADLINE_S):
        await run_daemon(config, clock=house.time, now=house.time.now)


def stored(house: HouseRig) -> list[tuple[str, bool]]:
    """Station of each session, and whether it has ended."""
    with Records.open(journal_in(house.config.state)) as journal:
        found = list(sessions(journal, Selection()))
    return [(session.info.station, session.end is not None) for session in found]


async def test_cancelled_it_keeps_a_build_open_and_leaves_nothing_else_so(house: HouseRig) -> None:
    for _ in range(2):  # the second finds journal, socket and line free, and goes on
        async with house.running() as http:
            await house.show(http, [*CUP, *LENTILS])
        house.time.t += 1.0
        house.shown_g = 130.0
    assert await asyncio.to_thread(stored, house) == [("line-1", False)]
    assert not house.socket.exists()


async def test_signals_are_left_to_the_program_it_runs_in(house: HouseRig) -> None:
    before = [signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM)]
    async with house.running():
        after = [signal.getsignal(number) for number in (signal.SIGINT, signal.SIGTERM)]
    assert before == after


async def test_what_cannot_be_opened_leaves_nothing_open(house: HouseRig) -> None:
    house.line.unplug()
    with pytest.raises(LinkRefused):
        await ran(house)
    house.line.plug()
    async with house.running():
        pass


async def test_a_journal_that_fails_ends_it_with_that_one_error(
    house: HouseRig, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise JournalError("journal.db", "the disk is full", "free some space")

    monkeypatch.setattr(Journal, "begin", full)
    with pytest.raises(JournalError, match="the disk is full; free some space"):
        await ran(house)


async def test_a_bug_is_told_as_what_it_is(
    house: HouseRig, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("ours")

    monkeypatch.setattr(Journal, "begin", broken)
    with pytest.raises(ZeroDivisionError, match="ours") as raised:
        await ran(house)
    assert not isinstance(raised.value, ScaledError)


async def test_two_scales_in_one_daemon(house: HouseRig, second_line: SerialLine) -> None:
    other = {"name": "line-2", "device": second_line.device, "profile": None}
    house.stations.append(house.station | other)
    async with house.running() as http:
        await house.show(http, [*CUP, *LENTILS])
        await ask(http, command="next")
        second_line.say(frame(7.0))
        async with asyncio.timeout(DEADLINE_S):
            while (await http.get("/v1/stations/line-2")).json()["link"]["state"] != "live":
                pass
        first, second = (await http.get("/v1/stations")).json()
        answer = await http.post(
            "/v1/stations/line-2/commands", json={"command": "profile", "profile": "lentil-cup"}
        )
    assert (first["name"], second["name"]) == ("line-1", "line-2")
    assert first["live"]["ladder"][0]["state"] == "done"
    assert (second["session"], answer.json()["session"]["profile"]) == (None, "lentil-cup")
    assert sorted(await asyncio.to_thread(stored, house)) == [
        ("line-1", False),  # a build is under way there
        ("line-2", True),
    ]


async def test_stations_of_one_daemon_pass_builds_on(
    house: HouseRig, second_line: SerialLine
) -> None:
    (house.profiles / "lentil-cup.toml").write_text(PLACED, encoding="utf-8")
    house.station["position"] = "hot line"
    other = {"name": "line-2", "device": second_line.device, "position": "cold line"}
    house.stations.append(house.station | other)
    async with house.running() as http:
        async with house.live("line-2") as socket:
            await house.show(http, [*CUP, *LENTILS, (0.0, 2.0)])
            (expected,) = [e for e in await told(socket, "expected") if e["event"] == "expected"]
        assert (expected["transit"]["build"], expected["transit"]["profile"]) == (1, "lentil-cup")
        assert expected["transit"]["said"][0]["step"] == "lentils"
        (leaving,) = (await http.get("/v1/stations/line-1/leaving")).json()
        assert leaving == expected["transit"]


async def test_one_line_that_cannot_be_opened_stops_no_other(
    house: HouseRig, second_line: SerialLine, caplog: pytest.LogCaptureFixture
) -> None:
    other = {"name": "line-2", "device": second_line.device, "profile": None}
    house.stations.insert(0, house.station | other)
    second_line.unplug()
    caplog.set_level(logging.INFO, "scaled")
    async with house.running() as http:
        await house.show(http, [*CUP, *LENTILS])
        lost = await linked(http, "line-2", "lost")
        assert lost["detail"].startswith(f"{second_line.device}: ")
        assert f"line-2: {lost['detail']}" in caplog.messages
        second_line.plug()
        await linked(http, "line-2", "opening")
        second_line.say(frame(7.0))
        await linked(http, "line-2", "live")
    assert "line-2: weighs again" in caplog.messages


async def test_a_line_that_another_program_has_is_busy_and_stops_no_other(
    house: HouseRig, second_line: SerialLine
) -> None:
    other = {"name": "line-2", "device": second_line.device, "profile": None}
    house.stations.append(house.station | other)
    second_line.take()
    async with house.running() as http:
        busy = await linked(http, "line-2", "busy")
        await house.show(http, [*CUP, *LENTILS])
        second_line.let_go()
        await linked(http, "line-2", "opening")
    assert busy["detail"] == (
        f"{second_line.device}: busy; close the other program that has it open"
    )


async def test_when_no_line_can_be_opened_the_first_is_told(
    house: HouseRig, second_line: SerialLine
) -> None:
    other = {"name": "line-2", "device": second_line.device}
    house.stations.append(house.station | other)
    second_line.unplug()
    house.line.unplug()
    with pytest.raises(LinkRefused) as refused:
        await ran(house)
    assert refused.value.device == house.line.device
    assert await asyncio.to_thread(stored, house) == []


async def test_one_line_under_two_names_is_told(house: HouseRig) -> None:
    by_another_name = house.socket.with_name("same-scale")
    by_another_name.symlink_to(house.line.device)
    other = {"name": "line-2", "device": str(by_another_name)}
    house.stations.append(house.station | other)
    with pytest.raises(ConfigError) as wrong:
        await ran(house)
    assert str(wrong.value) == (
        f"line-2: {by_another_name}: leads to the line of line-1, {house.line.device};"
        " give each its own"
    )


async def test_a_bug_at_one_station_is_shown_there_and_stops_no_other(
    house: HouseRig,
    second_line: SerialLine,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
) -> None:
    other = {"name": "line-2", "device": second_line.device, "profile": None}
    house.stations.append(house.station | other)
    hear = Sessions.hear

    def breaks(sessions: Sessions, heard: Reading | LinkStatus) -> None:
        if isinstance(heard, Reading) and heard.weight == 13.0:
            raise ZeroDivisionError("ours")
        hear(sessions, heard)

    monkeypatch.setattr(Sessions, "hear", breaks)
    async with house.running() as http:
        async with asyncio.timeout(DEADLINE_S):
            while (await http.get("/v1/stations/line-2")).json()["fault"] is None:
                second_line.say(frame(13.0))  # what is said before the line is opened is lost
                await asyncio.sleep(0.05)
        await house.show(http, [*CUP, *LENTILS])
        broken = (await http.get("/v1/stations/line-2")).json()
    assert broken["fault"] == "stopped by a fault of this program; start it again"
    (record,) = [record for record in caplog.records if record.exc_info]
    assert record.getMessage() == "line-2: stopped by a fault of this program"


async def linked(http: httpx.AsyncClient, station: str, state: str) -> dict[str, Any]:
    """Wait until a station's link is in a state, and give the link."""
    async with asyncio.timeout(DEADLINE_S):
        while True:
            link = (await http.get(f"/v1/stations/{station}")).json()["link"]
            if link["state"] == state:
                return dict(link)
