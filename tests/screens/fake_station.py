"""A stand-in for the daemon: the API's contract over a real socket, saying what it is told to."""

from __future__ import annotations

import asyncio
import contextlib
import json
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import uvicorn
from fastapi import FastAPI, HTTPException, WebSocket
from pydantic import TypeAdapter

from scaled.station.state import StationState

_STATE = TypeAdapter(StationState)
PROFILES = Path(__file__).parents[2] / "profiles"


class _Server(uvicorn.Server):
    @contextlib.contextmanager
    def capture_signals(self) -> Iterator[None]:
        yield  # signals are the test runner's


class FakeStation:
    """One station whose scale is read all the time.

    ``commands`` is what it was asked, ``refusal`` its answer to all of it; while ``silent`` it
    says nothing of its own accord, and it answers commands while ``answering`` is set.
    """

    def __init__(self, state: StationState) -> None:
        self.state = state
        self.commands: list[dict[str, Any]] = []
        self.refusal: str | None = None
        self.silent = False
        self.names = [state.name]
        self.profile_reads = 0
        self.answering = asyncio.Event()
        self.answering.set()
        self._lines: set[asyncio.Queue[str]] = set()

    @property
    def watched(self) -> bool:
        return bool(self._lines)

    def show(self, state: StationState) -> None:
        self.state = state
        self.say(self._message())

    def happen(self, *events: dict[str, Any]) -> None:
        self.say(json.dumps({"type": "events", "events": events}))

    def say(self, text: str) -> None:
        for line in self._lines:
            line.put_nowait(text)

    @asynccontextmanager
    async def serving(self, *, uds: str | None = None, port: int = 0) -> AsyncIterator[int]:
        """Listen on a socket file or a port; gives the port, 0 for a file."""
        config = uvicorn.Config(
            self._api(), uds=uds, port=port, lifespan="off", log_config=None,
            ws="websockets-sansio",
        )  # fmt: skip
        server = _Server(config)
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(server.serve())
            while not server.started:  # noqa: ASYNC110 -- uvicorn has no event for it
                await asyncio.sleep(0.01)
            name = server.servers[0].sockets[0].getsockname()
            try:
                yield 0 if uds else int(name[1])
            finally:
                server.should_exit = True

    async def _send(self, socket: WebSocket, line: asyncio.Queue[str]) -> None:
        while True:
            try:
                async with asyncio.timeout(0.2):
                    message = await line.get()
            except TimeoutError:
                message = "" if self.silent else self._message()
            if message:
                await socket.send_text(message)

    def _message(self) -> str:
        state = json.loads(_STATE.dump_json(self.state))
        return json.dumps({"type": "state", "state": state})

    def _api(self) -> FastAPI:
        api = FastAPI()

        @api.get("/v1/stations")
        async def stations() -> list[StationState]:
            return [replace(self.state, name=name) for name in self.names]

        @api.get("/v1/profiles")
        async def profiles() -> list[dict[str, str]]:
            return [
                {"id": "orchard-oat-pot", "title": "Orchard oat pot", "revision": "1"},
                {"id": "winter-barley-bowl", "title": "Winter barley bowl", "revision": "3"},
            ]

        @api.get("/v1/profiles/{name}")
        async def profile(name: str) -> dict[str, str]:
            self.profile_reads += 1
            return {"id": name, "text": (PROFILES / f"{name}.toml").read_text(encoding="utf-8")}

        @api.post("/v1/stations/{name}/commands")
        async def command(name: str, body: dict[str, Any]) -> StationState:
            self.commands.append(body)
            await self.answering.wait()
            if self.refusal:
                raise HTTPException(409, self.refusal)
            return self.state

        @api.websocket("/v1/stations/{name}/live")
        async def live(name: str, socket: WebSocket) -> None:
            await socket.accept()
            line: asyncio.Queue[str] = asyncio.Queue()
            line.put_nowait(self._message())
            self._lines.add(line)
            async with asyncio.TaskGroup() as tasks:
                sending = tasks.create_task(self._send(socket, line))
                while (await socket.receive())["type"] != "websocket.disconnect":
                    pass
                sending.cancel()
            self._lines.discard(line)

        return api
