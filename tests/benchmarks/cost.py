"""What the station costs: the core a reading, byte to event, memory and CPU, start-up.

    python -m tests.benchmarks.cost [--seconds 30]

Every figure stands beside a reference taken in the same run, so that ratios can be compared
between machines. Needs the project installed, since the daemon runs as ``python -m scaled``.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median, quantiles

import httpx
from websockets.asyncio.client import unix_connect

from scaled.catalogue import find_profile
from simulators.pty_port import PtyPort
from simulators.scale import SimulatedScale
from simulators.scene import Plan, Scene
from simulators.wire import WIRES
from tests.benchmarks.core_cost import core_costs

PROFILE = "winter-barley-bowl"
PYTHON = sys.executable


def start_up() -> None:
    help_s = _median_s([PYTHON, "-m", "scaled", "--help"])
    bare_s = _median_s([PYTHON, "-c", "pass"])
    print(
        f"scaled --help: {help_s * 1e3:.0f} ms; bare interpreter {bare_s * 1e3:.0f} ms,"
        f" ratio {help_s / bare_s:.1f}"
    )


def _median_s(command: list[str], times: int = 7) -> float:
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        subprocess.run(command, check=True, stdout=subprocess.DEVNULL)
        taken.append(time.perf_counter() - start)
    return median(taken)


class Timed:
    """A port that remembers when it was last written to."""

    def __init__(self, port: PtyPort) -> None:
        self.port = port
        self.written_s = 0.0

    @property
    def opened(self) -> bool:
        return self.port.opened

    def write(self, data: bytes) -> None:
        self.written_s = time.perf_counter()
        self.port.write(data)

    def read(self) -> bytes:
        return self.port.read()


async def daemon(seconds: float) -> None:
    plan = Plan(recipe_text=find_profile(PROFILE).text, seed=9001, division="1 g", rate_hz=10)
    scale = SimulatedScale(Scene(plan.pan(), plan.cook(), plan.line()), WIRES["ascii-stream"]())
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        async with PtyPort(folder / "scale") as port, asyncio.TaskGroup() as tasks:
            timed = Timed(port)
            tasks.create_task(scale.run(timed))
            start = time.perf_counter()
            server = await asyncio.create_subprocess_exec(
                PYTHON, "-m", "scaled", "serve", "--device", str(folder / "scale"), "--format",
                "ascii-stream", "--division", "1g", "--profile", PROFILE, "--state", name,
                "--listen", f"unix:{folder / 'sock'}", stdout=subprocess.PIPE,
            )  # fmt: skip
            assert server.stdout
            await server.stdout.readline()
            ready_s = time.perf_counter() - start
            try:
                await follow(folder / "sock", timed, server.pid, seconds)
            finally:
                server.terminate()
                await server.wait()
                scale.stop()
    bare_s = _median_s([PYTHON, "-c", "pass"])
    print(
        f"daemon ready after {ready_s * 1e3:.0f} ms; bare interpreter {bare_s * 1e3:.0f} ms,"
        f" ratio {ready_s / bare_s:.1f}"
    )


async def follow(sock: Path, timed: Timed, pid: int, seconds: float) -> None:
    states: list[float] = []
    events: list[float] = []
    pings: list[float] = []
    async with (
        unix_connect(str(sock), "ws://scaled/v1/stations/station/live") as live,
        httpx.AsyncClient(
            transport=httpx.AsyncHTTPTransport(uds=str(sock)), base_url="http://scaled"
        ) as http,
    ):
        cpu, start = _cpu_s(pid), time.perf_counter()
        while time.perf_counter() - start < seconds:
            message = await live.recv()
            late = time.perf_counter() - timed.written_s
            (events if json.loads(message)["type"] == "events" else states).append(late)
        wall = time.perf_counter() - start
        used = _cpu_s(pid) - cpu
        for _ in range(50):
            before = time.perf_counter()
            await http.get("/v1/health")
            pings.append(time.perf_counter() - before)
    ping = median(pings)
    for name, taken in (("event (committed)", events), ("live state", states)):
        cuts = quantiles(taken, n=100)
        print(
            f"byte to {name}: p50 {cuts[49] * 1e3:.1f} ms, p99 {cuts[98] * 1e3:.1f} ms over"
            f" {len(taken)}; a bare request {ping * 1e3:.1f} ms, ratio {cuts[49] / ping:.1f}"
        )
    print(
        f"daemon at 10 readings/s: {_rss_mib(pid):.0f} MiB resident, {100 * used / wall:.1f} % CPU"
    )


def _cpu_s(pid: int) -> float:
    fields = Path(f"/proc/{pid}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _rss_mib(pid: int) -> float:
    pages = int(Path(f"/proc/{pid}/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=30.0)
    args = parser.parse_args()
    print(*core_costs(), sep="\n")
    start_up()
    asyncio.run(daemon(args.seconds))


if __name__ == "__main__":
    main()
