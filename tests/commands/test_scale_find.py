"""``scaled scale find`` as it is typed: at lines, at scales that must be asked, by radio."""

from __future__ import annotations

import asyncio
from contextlib import AsyncExitStack, asynccontextmanager
from typing import TYPE_CHECKING

import pytest

from drivers.links import open_link
from scaled.protocol import driver_names, load_driver
from scaled.station import search
from simulators.ble_port import BLE_WIRES, BlePort
from simulators.hands import ScriptedHands
from simulators.lesson import lesson
from simulators.pty_port import PtyPort
from simulators.scale import SimulatedScale
from simulators.scene import quiet_scene
from tests.air import ADDRESS
from tests.benchmarks.classroom import shipped
from tests.commands.scale_at_line import ended, sending, started

if TYPE_CHECKING:
    from collections.abc import AsyncIterator
    from pathlib import Path

    from simulators.scale import Port
    from tests.air import Air
    from tests.conftest import SerialLine

ON_AIR = {"weight-scale-service": ADDRESS, "ascii-stream": "C0:FF:EE:00:00:02"}
SPEAKS_UNASKED = ("ascii-stream", "comma-words", "status-bits", "implied-decimals", "stx-fixed")
SENT = {
    name: [shipped(name).write(one) for one in lesson(1, 200, ("g",)).shown]
    for name in SPEAKS_UNASKED
}


SELDOM_S = (search.LISTEN_S + search._SELDOM_S) / 2
"""Between two frames: too long for a first look, and with time to spare on a busy machine."""


@pytest.mark.parametrize("name", SPEAKS_UNASKED)
async def test_what_a_line_speaks_is_found(name: str, serial_line: SerialLine) -> None:
    frames = SENT[name]
    process = await started("find", serial_line.device)
    with sending(serial_line.scale_end, lambda number: frames[number % len(frames)]):
        code, out, err = await ended(process)
    assert (code, err) == (0, "")
    assert out.startswith(f"{serial_line.device}: {name} at 9600 baud, 8N1: sure")
    assert out.count("\n") == 1


async def test_a_silent_line_keeps_nobody_waiting(serial_line: SerialLine, tmp_path: Path) -> None:
    frames = SENT["stx-fixed"]
    async with PtyPort(tmp_path / "silent"):
        process = await started("find", str(tmp_path / "silent"), serial_line.device)
        with sending(serial_line.scale_end, lambda number: frames[number % len(frames)]):
            code, out, err = await ended(process)
    assert (code, err) == (0, "")
    first, second = out.splitlines()
    assert first.startswith(f"{serial_line.device}: stx-fixed at 9600 baud, 8N1: sure")
    assert second == f"{tmp_path}/silent: silent"


async def test_one_that_sends_more_seldom_than_once_a_second_is_found(
    serial_line: SerialLine,
) -> None:
    frames = SENT["comma-words"]
    process = await started("find", serial_line.device)
    with sending(serial_line.scale_end, lambda number: frames[number % len(frames)], SELDOM_S):
        code, out, err = await ended(process)
    assert (code, err) == (0, "")
    assert out.startswith(f"{serial_line.device}: comma-words at 9600 baud, 8N1: sure (")
    assert out.count("\n") == 1


def test_a_silent_line_is_given_up_within_eight_seconds() -> None:
    drivers = {name: load_driver(name) for name in driver_names()}
    alike = {name: each for name, each in drivers.items() if each.open is open_link}
    requests = {each.poll.request for each in alike.values() if each.poll}
    asking_s = search._ASK_S * len(requests) * len(list(search._lines("/dev/scale", alike)))
    assert asking_s > 0
    assert search.LISTEN_S + search._SELDOM_S + asking_s < 8


async def test_what_nobody_reads_may_be_learnt(serial_line: SerialLine) -> None:
    process = await started("find", serial_line.device)
    with sending(serial_line.scale_end, lambda number: b"<<%d>>\n" % number):
        code, out, _ = await ended(process)
    assert code == 1
    assert "sends something no known format reads; learn it with: scaled scale learn" in out


async def test_no_scale_is_one_line(serial_line: SerialLine) -> None:
    code, out, err = await ended(await started("find", "/nowhere/at/all"))
    assert (code, err) == (1, "")
    assert out.splitlines() == [
        "/nowhere/at/all: does not exist; "
        "check that the scale is plugged in and the path is right",
        "no scale found; check that it is on, plugged in or near, and not in use by a station",
    ]


@asynccontextmanager
async def weighing(format_: str, port: Port) -> AsyncIterator[None]:
    """A simulated scale with 250 g on it at work at its port."""
    hands = ScriptedHands()
    hands.place(250.0)
    scale = SimulatedScale(quiet_scene(hands), BLE_WIRES[format_]())
    async with asyncio.TaskGroup() as tasks:
        tasks.create_task(scale.run(port))
        yield
        scale.stop()


@pytest.mark.parametrize("name", ["ascii-poll", "enquiry-bcc"])
async def test_what_speaks_only_when_it_is_asked_is_found(name: str, tmp_path: Path) -> None:
    async with PtyPort(tmp_path / "scale") as port, weighing(name, port):
        code, out, err = await ended(await started("find", str(tmp_path / "scale")))
    assert (code, err) == (0, "")
    assert out.startswith(f"{tmp_path}/scale: {name} at 9600 baud, 8N1: sure")
    assert out.endswith(", shows 250 g\n")
    assert out.count("\n") == 1


async def test_scales_in_reach_by_radio_are_found_and_what_they_speak(air: Air) -> None:
    ports = {name: BlePort(air.radio, name, address) for name, address in ON_AIR.items()}
    async with AsyncExitStack() as stack:
        for name, port in ports.items():
            await stack.enter_async_context(weighing(name, port))
        code, out, err = await ended(await started("find", "--seconds", "3"))
    assert (code, err) == (0, "")
    # This machine may have serial ports of its own.
    lines = {line[:17]: line for line in out.splitlines() if line.startswith("C0:")}
    assert lines.keys() == set(ON_AIR.values()), out
    for name, address in ON_AIR.items():
        assert lines[address].startswith(f"{address} (radio, -50 dBm): {name}: sure (")
        assert lines[address].endswith(", shows 250 g" if name == "ascii-stream" else "0.25 kg")


async def test_why_no_radio_is_heard_is_one_line(air: Air) -> None:
    air.radio.power(False)
    _, out, err = await ended(await started("find", "--seconds", "3"))
    off = (
        "Bluetooth: the Bluetooth radio is off; switch it on, such as with: bluetoothctl power on"
    )
    assert out.splitlines().count(off) == 1
    assert err == ""


async def test_a_radio_that_must_be_asked_is_found(air: Air) -> None:
    async with weighing("ascii-poll", BlePort(air.radio, "ascii-poll", ADDRESS)):
        code, out, err = await ended(await started("find", ADDRESS))
    assert (code, err) == (0, "")
    assert out == f"{ADDRESS}: ascii-poll: sure (4 frames, 0 dropped), shows 250 g\n"


async def test_a_radio_that_says_nothing_is_named_all_the_same(air: Air) -> None:
    air.scale("ascii-stream")
    code, out, err = await ended(await started("find", ADDRESS))
    assert (code, err) == (1, "")
    assert out.splitlines()[0] == f"{ADDRESS}: silent"
