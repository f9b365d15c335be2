"""A whole daemon in the test's own loop, on a real line, socket and journal, and its clients."""

from __future__ import annotations

import asyncio
import json
from contextlib import asynccontextmanager
from typing import TYPE_CHECKING, Any

import httpx
from websockets.asyncio.client import ClientConnection, connect, unix_connect

from scaled.address import UnixAddress, parse_address
from scaled.config import Config
from scaled.server.daemon import run_daemon
from tests.station.rig import DEADLINE_S, PROFILE, Script, Time, frames

if TYPE_CHECKING:
    from collections.abc import AsyncIterator
    from pathlib import Path

    from tests.conftest import SerialLine

STATION = "/v1/stations/line-1"


class HouseRig:
    """One daemon that can be run, and run again on the same journal."""

    def __init__(self, folder: Path, line: SerialLine) -> None:
        self.time = Time()
        self.line = line
        self.address = ""
        self.shown_g = 0.0
        self.profiles = folder / "profiles"
        self.profiles.mkdir()
        (self.profiles / "lentil-cup.toml").write_text(PROFILE, encoding="utf-8")
        self.socket = folder / "station.sock"
        self.keys: dict[str, Any] = {
            "listen": f"unix:{self.socket}",
            "state": str(folder / "state"),
            "profiles": [str(self.profiles)],
        }
        self.station: dict[str, Any] = {
            "name": "line-1",
            "device": line.device,
            "format": "ascii-stream",
            "division": "1 g",
            "profile": "lentil-cup",
            "stale_s": 60.0,
        }
        self.stations = [self.station]

    @property
    def config(self) -> Config:
        return Config.model_validate(self.keys | {"station": self.stations})

    @asynccontextmanager
    async def running(self) -> AsyncIterator[httpx.AsyncClient]:
        """Run the daemon, with a client of it."""
        up = asyncio.Event()

        def ready(address: str) -> None:
            self.address = address
            up.set()

        config = await asyncio.to_thread(lambda: self.config)  # pint reads a file
        async with asyncio.TaskGroup() as tasks:
            daemon = tasks.create_task(
                run_daemon(config, clock=self.time, now=self.time.now, ready=ready)
            )
            async with asyncio.timeout(DEADLINE_S):
                await up.wait()
            try:
                async with self.http() as http:
                    yield http
            finally:
                daemon.cancel()

    def http(self) -> httpx.AsyncClient:
        where = parse_address(self.address)
        uds = str(where.path) if isinstance(where, UnixAddress) else None
        transport = httpx.AsyncHTTPTransport(uds=uds, verify=False)
        base = "http://station" if uds else f"http://{where}"
        return httpx.AsyncClient(
            transport=transport, base_url=base, timeout=DEADLINE_S, trust_env=False
        )

    def live(self, name: str = "line-1", **options: Any) -> connect:  # noqa: ANN401
        """A WebSocket on a station's live view."""
        where = parse_address(self.address)
        path = f"/v1/stations/{name}/live"
        if isinstance(where, UnixAddress):
            return unix_connect(str(where.path), f"ws://station{path}", **options)
        return connect(f"ws://{where}{path}", proxy=None, **options)

    async def readings(self, http: httpx.AsyncClient) -> int:
        """How many readings the station has heard."""
        return int((await http.get(STATION)).json()["link"]["readings"])

    async def show(self, http: httpx.AsyncClient, script: Script) -> None:
        """Let the scale show weights, ten readings a second of its own time."""
        heard = await self.readings(http)
        for line in frames(script, self.shown_g):
            self.time.t = round(self.time.t + 0.1, 3)
            self.line.say(line)
            heard += 1
            async with asyncio.timeout(DEADLINE_S):
                while await self.readings(http) < heard:
                    pass
        self.shown_g = script[-1][0]


async def ask(http: httpx.AsyncClient, **command: object) -> httpx.Response:
    """Give a station a command."""
    return await http.post(f"{STATION}/commands", json=command)


async def messages(socket: ClientConnection) -> AsyncIterator[dict[str, Any]]:
    """All that comes until the station ends the line."""
    async with asyncio.timeout(DEADLINE_S):
        async for text in socket:
            yield json.loads(text)


async def told(socket: ClientConnection, name: str) -> list[dict[str, Any]]:
    """Events up to and with the first one of that name."""
    events: list[dict[str, Any]] = []
    async for message in messages(socket):
        if message["type"] == "events":
            events += message["events"]
            if name in [event["event"] for event in events]:
                return events
    raise AssertionError(f"no {name} among {events}")
