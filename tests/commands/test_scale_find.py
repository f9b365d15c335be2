from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from simulators.lesson import lesson
from tests.benchmarks.classroom import shipped
from tests.commands.scale_at_line import ended, sending, started

if TYPE_CHECKING:
    from tests.conftest import SerialLine

SPEAKS_UNASKED = ("ascii-stream", "comma-words", "status-bits", "implied-decimals", "stx-fixed")
SENT = {
    name: [shipped(name).write(one) for one in lesson(1, 200, ("g",)).shown]
    for name in SPEAKS_UNASKED
}


@pytest.mark.parametrize("name", SPEAKS_UNASKED)
async def test_what_a_line_speaks_is_found(name: str, serial_line: SerialLine) -> None:
    frames = SENT[name]
    process = await started("find", serial_line.device)
    with sending(serial_line.scale_end, lambda number: frames[number % len(frames)]):
        code, out, err = await ended(process)
    assert (code, err) == (0, "")
    assert out.startswith(f"{serial_line.device}: {name} at 9600 baud, 8N1: sure")
    assert out.count("\n") == 1


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
