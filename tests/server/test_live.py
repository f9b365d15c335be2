from __future__ import annotations

import asyncio
import json
from typing import TYPE_CHECKING, Any

import pytest
from fastapi import WebSocket, WebSocketDisconnect
from websockets.exceptions import InvalidStatus

from scaled.server import daemon, live, serving
from scaled.station import feed
from scaled.station.state import StationState
from tests.conftest import open_descriptors
from tests.server.house import STATION, ask, messages, told
from tests.station.rig import CUP, DEADLINE_S, LENTILS, LINK, WHOLE_BUILD, YOGURT, frames

if TYPE_CHECKING:
    from websockets.asyncio.client import ClientConnection

    from tests.server.house import HouseRig


async def test_the_state_comes_first(house: HouseRig) -> None:
    async with house.running() as http:
        await house.show(http, [*CUP, *LENTILS])
        async with house.live() as line:
            first = json.loads(await line.recv())
    assert first["type"] == "state"
    assert first["state"]["live"]["step"] == "lentils"
    assert first["state"]["live"]["net_g"] == pytest.approx(120.0)


async def test_a_build_is_told_while_it_happens(house: HouseRig) -> None:
    async with house.running() as http, house.live() as line, asyncio.TaskGroup() as tasks:
        telling = tasks.create_task(told(line, "finished"))
        await house.show(http, WHOLE_BUILD)
        events = await telling
        exported = (await http.get("/v1/records/export?format=jsonl")).text.splitlines()
    portions = [event["step"] for event in events if event["event"] == "portion"]
    assert sorted(portions) == ["lentils", "yogurt"]
    stored = [json.loads(text) for text in exported]
    for event in events:
        assert any(event.items() <= record.items() for record in stored)


async def test_states_are_coalesced_and_the_last_one_arrives(
    house: HouseRig, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(live, "PAUSE_S", 0.5)
    async with house.running() as http, house.live() as line, asyncio.TaskGroup() as tasks:
        last = len(list(frames(WHOLE_BUILD)))
        watching = tasks.create_task(states_until(line, last))
        await house.show(http, WHOLE_BUILD)
        states = await watching
    assert states[-1]["link"]["readings"] == last
    assert len(states) < last / 2


async def states_until(line: ClientConnection, heard: int) -> list[dict[str, Any]]:
    """States up to and with the one in which so many readings were heard."""
    states: list[dict[str, Any]] = []
    async for message in messages(line):
        states += [message["state"]] if message["type"] == "state" else []
        if states and states[-1]["link"]["readings"] == heard:
            return states
    raise AssertionError("the line ended")


async def test_two_benches_see_the_same(house: HouseRig) -> None:
    async with (
        house.running() as http,
        house.live() as one,
        house.live() as two,
        asyncio.TaskGroup() as tasks,
    ):
        both = [tasks.create_task(told(line, "finished")) for line in (one, two)]
        await house.show(http, WHOLE_BUILD)
        assert await both[0] == await both[1]


async def test_a_bench_that_dies_touches_nothing(house: HouseRig) -> None:
    async with house.running() as http:
        await house.show(http, [*CUP, *LENTILS])
        async with house.live() as line:
            await line.recv()
            line.transport.abort()
        await ask(http, command="next")
        await house.show(http, YOGURT)
        async with house.live() as line:
            again = json.loads(await line.recv())["state"]["live"]
    assert [rung["state"] for rung in again["ladder"]] == ["done", "open"]


class Leaving(WebSocket):
    """A client that has left by the time it is told something."""

    def __init__(self) -> None:
        self.told = asyncio.Event()

    async def accept(self, *_: object, **__: object) -> None:
        """Let it in."""

    async def send_text(self, data: str) -> None:
        assert data
        self.told.set()
        raise WebSocketDisconnect(1006)

    async def receive(self) -> dict[str, Any]:
        await self.told.wait()
        return {"type": "websocket.disconnect"}


async def test_a_client_that_leaves_while_it_is_told_is_no_fault() -> None:
    async with asyncio.timeout(DEADLINE_S):
        await live.follow(Leaving(), feed.Feed(StationState("line-1", LINK)))


async def test_what_a_client_says_is_ignored(house: HouseRig) -> None:
    async with house.running() as http, house.live() as line:
        await line.recv()
        await line.send('{"command": "next"}')
        await line.send(b"\x00")
        await ask(http, command="note", text="after it")
        assert (await told(line, "noted"))[-1]["text"] == "after it"


async def test_no_such_station(house: HouseRig) -> None:
    async with house.running():
        with pytest.raises(InvalidStatus, match="404"):
            async with house.live("line-9"):
                pass


async def test_clients_are_told_when_the_station_stops(
    house: HouseRig, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(daemon, "FAREWELL_S", DEADLINE_S)
    async with asyncio.TaskGroup() as tasks, house.running() as http:
        line = await house.live()
        telling = tasks.create_task(all_told(line))
        await house.show(http, [*CUP, *LENTILS])
    said = telling.result()
    names = [e["event"] for m in said if m["type"] == "events" for e in m["events"]]
    assert "build_started" in names
    assert (line.close_code, line.close_reason) == (1001, "the station stops")


async def all_told(line: ClientConnection) -> list[dict[str, Any]]:
    return [message async for message in messages(line)]


NEVER_READS: dict[str, Any] = {"max_queue": 1, "ping_interval": None}
"""A client that takes one message, then reads no more, nor asks whether the station is there."""


async def test_a_client_that_never_reads_slows_nothing(
    house: HouseRig, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept, notes = 20, 500
    monkeypatch.setattr(serving, "PING_S", 10 * DEADLINE_S)  # however long that takes
    monkeypatch.setattr(feed, "MOST_EVENTS", kept)
    monkeypatch.setattr(live, "PAUSE_S", 0.0)
    async with house.running() as http, house.live(**NEVER_READS) as stuck:
        for count in range(notes):
            assert (await ask(http, command="note", text=f"{count:0199}")).status_code == 200
        await house.show(http, [*WHOLE_BUILD, (0.0, 1.0)])
        missed, events, state = await caught_up(stuck, (await http.get(STATION)).json())
    told_notes = [int(event["text"]) for event in events if event["event"] == "noted"]
    assert missed > 0
    assert told_notes == sorted(set(told_notes))
    assert len(told_notes) < notes
    assert events[-1]["event"] == "finished"
    assert state["live"]["build"] == 1


async def caught_up(
    line: ClientConnection, wanted: dict[str, Any]
) -> tuple[int, list[dict[str, Any]], dict[str, Any]]:
    """All that comes until the wanted state."""
    missed, events = 0, []
    async for message in messages(line):
        missed += message.get("count", 0)
        events += message.get("events", [])
        if message.get("state") == wanted:
            return missed, events, wanted
    raise AssertionError("the line ended")


async def test_a_client_that_never_reads_does_not_keep_the_station_up(
    house: HouseRig, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(live, "PAUSE_S", 0.0)
    monkeypatch.setattr(daemon, "FAREWELL_S", 0.1)
    monkeypatch.setattr(serving, "PING_S", 10 * DEADLINE_S)
    before = open_descriptors()
    async with asyncio.timeout(None) as ending:
        async with house.running() as http:
            stuck = await house.live(**NEVER_READS)
            for count in range(500):
                await ask(http, command="note", text=f"{count:0199}")
            ending.reschedule(asyncio.get_running_loop().time() + DEADLINE_S)
    await asyncio.sleep(0)  # what was cut is closed in the loop's next turn
    only_the_clients_end = {str(stuck.transport.get_extra_info("socket").fileno())}
    assert open_descriptors() - before == only_the_clients_end
    stuck.transport.abort()
    await stuck.wait_closed()
    assert not caplog.records
