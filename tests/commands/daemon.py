"""``scaled serve`` as a process of its own, at a scale that shows what it is told."""

from __future__ import annotations

import asyncio
import json
import sys
from contextlib import asynccontextmanager
from typing import TYPE_CHECKING, Any

import httpx

from tests.station.rig import DEADLINE_S, PROFILE, frame

if TYPE_CHECKING:
    from asyncio.subprocess import Process
    from collections.abc import AsyncIterator, Callable
    from pathlib import Path

    from tests.conftest import SerialLine

STATION = "/v1/stations/station"
PERIOD_S = 0.05
"""A quick scale: twenty readings a second."""


class Daemon:
    """What is served, and the scale it is served from."""

    def __init__(self, folder: Path, line: SerialLine) -> None:
        self.line = line
        self.socket = folder / "s.sock"
        self.state = folder / "state"
        self.profile = folder / "lentil-cup.toml"
        self.profile.write_text(PROFILE, encoding="utf-8")
        self.weight_g = 0.0
        self.ready_line = ""

    @property
    def options(self) -> list[str]:
        return [
            *("--device", self.line.device, "--format", "ascii-stream", "--division", "1g"),
            *("--profile", str(self.profile), "--state", str(self.state)),
            *("--listen", f"unix:{self.socket}"),
        ]

    @asynccontextmanager
    async def running(self) -> AsyncIterator[tuple[Process, httpx.AsyncClient]]:
        """Serve, with a client and the scale switched on; killed if it is still there."""
        process = await asyncio.create_subprocess_exec(
            *(sys.executable, "-m", "scaled", "serve", *self.options),
            stdout=asyncio.subprocess.PIPE,
            stderr=asyncio.subprocess.PIPE,
        )
        transport = httpx.AsyncHTTPTransport(uds=str(self.socket), verify=False)
        http = httpx.AsyncClient(
            transport=transport, base_url="http://station", timeout=DEADLINE_S, trust_env=False
        )
        try:
            self.ready_line = await self._ready(process)
            async with http, asyncio.TaskGroup() as tasks:
                switched_on = tasks.create_task(self._show())
                yield process, http
                switched_on.cancel()
        finally:
            if process.returncode is None:
                process.kill()
            await process.communicate()

    async def _ready(self, process: Process) -> str:
        assert process.stdout is not None
        assert process.stderr is not None
        async with asyncio.timeout(DEADLINE_S):
            line = await process.stdout.readline()
        if not line:
            raise AssertionError((await process.stderr.read()).decode())
        return line.decode()

    async def _show(self) -> None:
        while True:
            self.line.say(frame(self.weight_g))
            await asyncio.sleep(PERIOD_S)


async def until(
    http: httpx.AsyncClient, holds: Callable[[dict[str, Any]], bool]
) -> dict[str, Any]:
    """Wait until it holds of the build's live state, which is returned."""
    live: dict[str, Any] | None = None
    try:
        async with asyncio.timeout(DEADLINE_S):
            while live is None or not holds(live):
                await asyncio.sleep(PERIOD_S)
                live = (await http.get(STATION)).json()["live"]
    except TimeoutError:
        raise AssertionError(f"never came to hold of {live}") from None
    return live


async def portion_lentils(daemon: Daemon, http: httpx.AsyncClient) -> dict[str, Any]:
    """Set down a cup, fill in lentils, press next; the step as it was shown."""
    await until(http, lambda live: live["settled"])
    daemon.weight_g = 10.0
    await until(http, lambda live: live["build"] == 1 and live["settled"])
    daemon.weight_g = 130.0
    await until(http, lambda live: live["settled"] and live["net_g"] > 100)
    await press_next(http)
    live = await until(http, lambda live: live["ladder"][0]["state"] == "done")
    return dict(live["ladder"][0])


async def press_next(http: httpx.AsyncClient) -> None:
    answer = await http.post(f"{STATION}/commands", json={"command": "next"})
    answer.raise_for_status()


async def exported(http: httpx.AsyncClient) -> list[dict[str, Any]]:
    """All records."""
    answer = await http.get("/v1/records/export", params={"format": "jsonl"})
    return [json.loads(line) for line in answer.raise_for_status().text.splitlines()]


async def ended(process: Process) -> tuple[int, str]:
    """Exit code and what it said on its way."""
    async with asyncio.timeout(DEADLINE_S):
        out, err = await process.communicate()
    assert out == b""
    assert process.returncode is not None
    return process.returncode, err.decode()
