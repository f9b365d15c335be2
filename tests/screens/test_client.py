"""The client against the API's contract over real sockets."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path

import httpx
import pytest

from scaled.core.errors import CommandRefused, ConfigError
from scaled.screens.client import StationClient, Update, unreachable
from scaled.screens.wire import Away, EventsMessage, MissedMessage, StateMessage
from tests.screens.eventually import eventually
from tests.screens.fake_station import FakeStation
from tests.screens.scenes import BOWL, STATES


def fake(name: str = "add") -> FakeStation:
    state = STATES[name]
    assert state is not None
    return FakeStation(state)


@asynccontextmanager
async def watched(client: StationClient) -> AsyncIterator[list[Update]]:
    """All updates the client shows while the block runs."""
    seen: list[Update] = []
    async with asyncio.TaskGroup() as tasks:
        watching = tasks.create_task(client.watch(seen.append))
        try:
            yield seen
        finally:
            watching.cancel()


@pytest.mark.parametrize(
    ("address", "reason"),
    [
        ("", "not an address; write unix:PATH or 127.0.0.1:PORT"),
        ("unix:", "no socket file is named; write unix:PATH"),
        ("http://127.0.0.1", "not an address; write unix:PATH or 127.0.0.1:PORT"),
        ("127.0.0.1:99999", "not an address; write unix:PATH or 127.0.0.1:PORT"),
        ("kitchen.example:80", "only this machine"),
    ],
)
def test_a_malformed_address_is_one_clear_line(address: str, reason: str) -> None:
    with pytest.raises(ConfigError, match=reason) as refused:
        StationClient(address)
    assert "\n" not in str(refused.value)


async def test_a_state_comes_with_its_profile(tmp_path: Path) -> None:
    station = fake()
    async with station.serving(uds=f"{tmp_path}/s"):
        client = StationClient(f"unix:{tmp_path}/s")
        async with watched(client) as seen:
            await eventually(lambda: seen)
            assert isinstance(seen[0], StateMessage)
            assert seen[0].state == station.state
            assert client.recipe == BOWL
            assert client.station == "line-1"


async def test_a_port_works_like_a_socket_file() -> None:
    station = fake()
    async with station.serving() as port:
        client = StationClient(f"http://127.0.0.1:{port}", "line-1")
        async with watched(client) as seen:
            await eventually(lambda: seen)
            await client.send({"command": "next"})
    assert isinstance(seen[0], StateMessage)
    assert station.commands == [{"command": "next"}]


async def test_the_profile_is_fetched_once_and_again_when_it_changes(tmp_path: Path) -> None:
    station = fake()
    async with station.serving(uds=f"{tmp_path}/s"):
        client = StationClient(f"unix:{tmp_path}/s")
        async with watched(client) as seen:
            await eventually(lambda: len(seen) > 3)
            assert station.profile_reads == 1
            other = STATES["add-ounces"]
            assert other is not None
            station.show(other)
            await eventually(
                lambda: client.recipe and client.recipe.profile.id == "millstone-flatbread"
            )
            station.show(replace(other, session=None, live=None))
            await eventually(lambda: client.recipe is None)
            assert station.profile_reads == 2
            assert other.session is not None
            station.show(replace(other, session=replace(other.session, session="s-2")))
            await eventually(lambda: station.profile_reads == 3)


async def test_events_and_what_was_missed_are_passed_on_in_order(tmp_path: Path) -> None:
    station = fake()
    client = StationClient(f"unix:{tmp_path}/s")
    async with station.serving(uds=f"{tmp_path}/s"), watched(client) as seen:
        await eventually(lambda: station.watched)
        station.say('{"type": "missed", "count": 3}')
        station.happen({"event": "lifted", "t": 1.0, "build": 1, "net_g": 3.0})
        await eventually(lambda: any(isinstance(update, EventsMessage) for update in seen))
    told = [update for update in seen if isinstance(update, EventsMessage | MissedMessage)]
    assert told == [
        MissedMessage(type="missed", count=3),
        EventsMessage(
            type="events", events=({"event": "lifted", "t": 1.0, "build": 1, "net_g": 3.0},)
        ),
    ]


async def test_the_daemon_may_come_later_go_and_come_back(tmp_path: Path) -> None:
    address = f"unix:{tmp_path}/s"
    async with watched(StationClient(address)) as seen:
        await eventually(lambda: len(seen) >= 2)
        assert {update for update in seen if isinstance(update, Away)} == {
            Away(f"nothing answers at {address}", absent=True)
        }
        async with fake("add").serving(uds=f"{tmp_path}/s"):
            await eventually(lambda: isinstance(seen[-1], StateMessage))
        await eventually(lambda: isinstance(seen[-1], Away))
        async with fake("take-back").serving(uds=f"{tmp_path}/s"):
            await eventually(
                lambda: (
                    isinstance(seen[-1], StateMessage) and seen[-1].state == STATES["take-back"]
                )
            )


def test_a_socket_of_somebody_else_is_named_as_such() -> None:
    err = httpx.ConnectError("All connection attempts failed")
    assert unreachable("unix:/s", err) == Away("nothing answers at unix:/s", absent=True)
    err.__cause__ = PermissionError(13, "Permission denied")
    assert unreachable("unix:/s", err) == Away("unix:/s may not be opened by this user")


async def test_a_daemon_that_speaks_otherwise_is_named_as_such(tmp_path: Path) -> None:
    station = fake()
    address = f"unix:{tmp_path}/s"
    async with station.serving(uds=f"{tmp_path}/s"), watched(StationClient(address)) as seen:
        await eventually(lambda: station.watched)
        station.say('{"type": "poem", "text": "o"}')
        await eventually(
            lambda: Away(f"{address} speaks another version than this screen") in seen
        )


async def test_a_port_where_something_else_listens_is_away() -> None:
    def answer(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        writer.write(b"220 not a station\r\n")
        writer.close()

    async with await asyncio.start_server(answer, "127.0.0.1", 0) as server:
        port = server.sockets[0].getsockname()[1]
        async with watched(StationClient(f"127.0.0.1:{port}")) as seen:
            await eventually(lambda: seen)
    assert isinstance(seen[0], Away)


async def test_an_unknown_station_is_refused_with_the_names_there_are(tmp_path: Path) -> None:
    station = fake()
    station.names = ["hot", "cold"]
    async with station.serving(uds=f"{tmp_path}/s"):
        for name, reason in (
            ("warm", "--station: warm: no such station; there are: hot, cold"),
            (None, "--station: say which station to show; there are: hot, cold"),
        ):
            with pytest.raises(ConfigError) as refused:
                await StationClient(f"unix:{tmp_path}/s", name).watch(lambda _: None)
            assert str(refused.value) == reason


async def test_watching_ends_when_it_was_enough(tmp_path: Path) -> None:
    async with fake().serving(uds=f"{tmp_path}/s"):
        await StationClient(f"unix:{tmp_path}/s").watch(lambda _: True)


async def test_a_refusal_carries_the_stations_line(tmp_path: Path) -> None:
    station = fake()
    station.refusal = "undo: no step of this build is done yet"
    async with station.serving(uds=f"{tmp_path}/s"):
        client = StationClient(f"unix:{tmp_path}/s", "line-1")
        with pytest.raises(CommandRefused) as refused:
            await client.send({"command": "undo"})
    assert refused.value.reason == "undo: no step of this build is done yet"


async def test_a_command_to_a_station_that_is_away_is_refused(tmp_path: Path) -> None:
    client = StationClient(f"unix:{tmp_path}/s", "line-1")
    with pytest.raises(CommandRefused, match="the station is away: nothing was done"):
        await client.send({"command": "next"})
    with pytest.raises(CommandRefused, match="no list of dishes"):
        await client.profiles()


async def test_an_answer_that_is_no_refusal_line_is_refused_all_the_same(tmp_path: Path) -> None:
    async with fake().serving(uds=f"{tmp_path}/s"):
        client = StationClient(f"unix:{tmp_path}/s", "no/such/place")
        with pytest.raises(CommandRefused):
            await client.send({"command": "next"})


async def test_the_profiles_can_be_listed(tmp_path: Path) -> None:
    async with fake().serving(uds=f"{tmp_path}/s"):
        titles = await StationClient(f"unix:{tmp_path}/s").profiles()
    assert [title.id for title in titles] == ["orchard-oat-pot", "winter-barley-bowl"]
