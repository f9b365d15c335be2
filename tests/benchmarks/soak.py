"""Many scales in one daemon, with something befalling one of them every few seconds.

    python -m tests.benchmarks.soak [--minutes 10] [--serial 8] [--ble 4] [--seed 1]

Every weight says which scale showed it, so the journal tells whether one was taken for another's.
What the daemon holds is counted once a round, when all has healed. Needs the project installed.
"""

from __future__ import annotations

import argparse
import asyncio
import json
import os
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import AsyncIterator, Mapping, Sequence
from contextlib import AsyncExitStack, asynccontextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from random import Random
from typing import Any, Final

import httpx

from scaled.records.query import Selection, readings, sessions
from scaled.records.reader import Records
from simulators.ble_port import BlePort
from simulators.bluez_radio import Radio
from simulators.private_bus import PrivateBus
from simulators.pty_port import PtyPort
from tests.benchmarks.soak_scales import (
    Fault,
    MarkedScale,
    owner,
    radio_faults,
    radio_format,
    radio_scale,
    serial_faults,
    serial_scale,
    swap,
)

ROUND_S: Final = 30.0
HEALED_S: Final = 90.0
"""A hung radio scale is noticed after 8 s; looking for it and back-off take some more."""
GRAMS: Final = {None: 1.0, "g": 1.0, "kg": 1000.0}

PROFILE: Final = """
schema = 1
id = "soak"
title = "Soak"
revision = "1"
container = { name = "tray", tare = "1 kg", tare_tolerance = "20 g" }
step = [
    { id = "barley", ingredient = "pearl barley", target = "120 g" },
    { id = "lentils", ingredient = "brown lentils", target = "100 g" },
]
"""


@dataclass(frozen=True)
class Plan:
    """How long in whole rounds, or until how much befell; with how many scales."""

    seconds: float
    serial: int
    ble: int
    seed: int = 1
    round_s: float = ROUND_S
    faults: int = 1


@dataclass
class Kitchen:
    """The simulated scales by the name of their station, and what may befall them."""

    scales: dict[str, MarkedScale] = field(default_factory=dict)
    stations: list[str] = field(default_factory=list)
    faults: list[tuple[str, Mapping[str, Fault]]] = field(default_factory=list)

    def add(
        self, scale: MarkedScale, device: object, format_: str, faults: Mapping[str, Fault]
    ) -> None:
        name = f"scale-{scale.number}"
        self.scales[name] = scale
        division = "5 g" if format_ == "weight-scale-service" else "1 g"
        keys = {"name": name, "device": str(device), "format": format_, "division": division}
        lines = (f"{key} = {json.dumps(value)}\n" for key, value in keys.items())
        self.stations.append('[[station]]\nprofile = "soak"\n' + "".join(lines))
        self.faults.append((name, faults))


@dataclass
class Outcome:
    """What came of it.

    Attributes:
        held: What the daemon held, once a round, the first after all scales were heard.
        befell: Faults by their name.
        said: How often weights were sent while somebody listened.
        own: Readings stored with the scale that showed them.
        others: Readings stored with another scale.
        nobodys: Readings that no scale showed.
    """

    held: list[dict[str, float]] = field(default_factory=list)
    befell: Counter[str] = field(default_factory=Counter)
    said: int = 0
    own: int = 0
    others: int = 0
    nobodys: int = 0


async def soak(folder: Path, plan: Plan) -> Outcome:
    """Run it in a folder with a short path."""
    rng, outcome = Random(plan.seed), Outcome()  # noqa: S311 -- a simulation
    async with _kitchen(folder, plan, rng) as (kitchen, environment):
        async with _daemon(folder, kitchen, environment) as (process, http):
            outcome.held.append(await _held(process, http, kitchen))
            loop = asyncio.get_running_loop()
            end = loop.time() + plan.seconds
            while loop.time() < end or outcome.befell.total() < plan.faults:
                await _befall(kitchen, rng, outcome, loop.time() + plan.round_s)
                outcome.held.append(await _held(process, http, kitchen))
                _print(outcome.held[-1], outcome.befell)
        outcome.said = sum(scale.said for scale in kitchen.scales.values())
    await asyncio.to_thread(_judge, folder / "state" / "journal.db", kitchen, outcome)
    return outcome


@asynccontextmanager
async def _kitchen(
    folder: Path, plan: Plan, rng: Random
) -> AsyncIterator[tuple[Kitchen, dict[str, str]]]:
    kitchen, ports = Kitchen(), []
    async with AsyncExitStack() as stack:
        for number in range(1, plan.serial + 1):
            format_, scale, port = serial_scale(number, folder / f"line-{number}")
            ports.append(await stack.enter_async_context(port))
            kitchen.add(scale, port.link, format_, serial_faults(scale, port, rng))
        bus = await stack.enter_async_context(PrivateBus(folder / "bus"))
        radio = await stack.enter_async_context(Radio(bus.address))
        for number in range(plan.serial + 1, plan.serial + plan.ble + 1):
            address = f"C0:FF:EE:00:00:{number:02X}"
            on_air = BlePort(radio, radio_format(number), address)
            scale = radio_scale(number, on_air)
            faults = radio_faults(scale, on_air, rng)
            kitchen.add(scale, address, radio_format(number), faults)
        kitchen.faults += _common_faults(ports, radio if plan.ble else None, rng)
        tasks = await stack.enter_async_context(asyncio.TaskGroup())
        running = [tasks.create_task(scale.run()) for scale in kitchen.scales.values()]
        yield kitchen, {"DBUS_SYSTEM_BUS_ADDRESS": bus.address}
        for task in running:
            task.cancel()


def _common_faults(
    ports: Sequence[PtyPort], radio: Radio | None, rng: Random
) -> list[tuple[str, Mapping[str, Fault]]]:
    faults: list[tuple[str, Mapping[str, Fault]]] = []
    if len(ports) > 1:
        pair = (ports[0], ports[1])
        faults.append(("", {"two swapped": partial(swap, pair, rng)}))
    if radio is not None:
        faults.append(("", {"radio off": partial(_off_and_on, radio)}))
        faults.append(("", {"service killed": partial(_die_and_revive, radio)}))
    return faults


async def _off_and_on(radio: Radio) -> None:
    radio.power(False)
    await asyncio.sleep(1.0)
    radio.power(True)


async def _die_and_revive(radio: Radio) -> None:
    await radio.stop()
    await asyncio.sleep(1.0)
    await radio.start()


@asynccontextmanager
async def _daemon(
    folder: Path, kitchen: Kitchen, environment: Mapping[str, str]
) -> AsyncIterator[tuple[asyncio.subprocess.Process, httpx.AsyncClient]]:
    config, sock, dishes = folder / "config.toml", folder / "sock", folder / "dishes"
    text = f'listen = "unix:{sock}"\nstate = "{folder}/state"\nprofiles = ["{dishes}"]\n'
    await asyncio.to_thread(dishes.mkdir)
    await asyncio.to_thread((dishes / "soak.toml").write_text, PROFILE, "utf-8")
    await asyncio.to_thread(config.write_text, text + "".join(kitchen.stations), "utf-8")
    process = await asyncio.create_subprocess_exec(
        *(sys.executable, "-m", "tests.benchmarks.soaked_daemon", str(config)),
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env=os.environ | environment,
    )
    assert process.stdin
    assert process.stdout
    if not await process.stdout.readline():
        raise AssertionError("the daemon did not start")
    transport = httpx.AsyncHTTPTransport(uds=str(sock))
    try:
        async with httpx.AsyncClient(
            transport=transport, base_url="http://soak", timeout=HEALED_S
        ) as http:
            yield process, http
    finally:
        process.stdin.close()
        await process.wait()


async def _befall(kitchen: Kitchen, rng: Random, outcome: Outcome, until: float) -> None:
    """Let something befall one scale every second or three, and wait for all of it to be over."""
    loop, befallen = asyncio.get_running_loop(), set[str]()
    async with asyncio.TaskGroup() as tasks:
        while loop.time() < until:
            await asyncio.sleep(rng.uniform(0.5, 2.5))
            name, faults = rng.choice(kitchen.faults)
            if befallen and (not name or name in befallen or "" in befallen):
                continue  # nothing else while one thing is under way at it, or at all of them
            word = rng.choice(list(faults))
            outcome.befell[word] += 1
            befallen.add(name)
            tasks.create_task(_suffer(faults[word], partial(befallen.discard, name)))


async def _suffer(fault: Fault, over: partial[None]) -> None:
    await fault()
    over()


async def _held(
    process: asyncio.subprocess.Process, http: httpx.AsyncClient, kitchen: Kitchen
) -> dict[str, float]:
    """What the daemon holds once every station hears its scale, and still does after it."""
    deaf: list[Any] = []
    try:
        async with asyncio.timeout(HEALED_S):
            while True:
                if not (deaf := await _deaf(http, kitchen)):
                    held = await _ask(process)
                    if not await _deaf(http, kitchen):
                        return held
                await asyncio.sleep(0.2)
    except TimeoutError:
        raise AssertionError(f"not healed after {HEALED_S:g} s: {deaf}") from None


async def _deaf(http: httpx.AsyncClient, kitchen: Kitchen) -> list[Any]:
    """The links of the stations that do not hear their scale now."""
    states = (await http.get("/v1/stations")).json()
    assert len(states) == len(kitchen.scales)
    return [state["link"] for state in states if state["link"]["state"] != "live"]


async def _ask(process: asyncio.subprocess.Process) -> dict[str, float]:
    assert process.stdin
    assert process.stdout
    process.stdin.write(b"?\n")
    held: dict[str, float] = json.loads(await process.stdout.readline())
    return held


def _judge(journal: Path, kitchen: Kitchen, outcome: Outcome) -> None:
    """Count whose readings were stored with which scale."""
    with Records.open(journal) as records:
        for session in sessions(records, Selection()):
            number = kitchen.scales[session.info.station].number
            for reading in readings(records, session.info.session):
                whose = owner(reading.weight * GRAMS[reading.unit])
                outcome.own += whose == number
                outcome.nobodys += whose is None
                outcome.others += whose not in {None, number}


def _print(held: Mapping[str, float], befell: Counter[str]) -> None:
    figures = ", ".join(f"{value:g} {name}" for name, value in held.items())
    print(f"{befell.total()} faults; {figures}", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--serial", type=int, default=8)
    parser.add_argument("--ble", type=int, default=4)
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        plan = Plan(60 * args.minutes, args.serial, args.ble, args.seed)
        outcome = asyncio.run(soak(Path(name), plan))
    print("befell:", ", ".join(f"{n} {word}" for word, n in outcome.befell.most_common()))
    print(
        f"weights sent {outcome.said:,}, stored {outcome.own:,} with their own scale,"
        f" {outcome.others} with another, {outcome.nobodys} that no scale showed"
    )
    print("at first:", json.dumps(outcome.held[0]), "at last:", json.dumps(outcome.held[-1]))
    print(f"load of the machine: {os.getloadavg()}")


if __name__ == "__main__":
    main()
