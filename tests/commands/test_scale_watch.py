from __future__ import annotations

import asyncio
import signal
from typing import TYPE_CHECKING

import pytest

from scaled.capture import all_bytes, read_capture
from scaled.cli import main
from scaled.core.reading import Reading, Unit
from scaled.station.watching import Watch
from tests.commands.scale_at_line import ended, sending, started

if TYPE_CHECKING:
    from pathlib import Path

    from tests.conftest import SerialLine


def frame(number: int) -> bytes:
    return b"ST,GR,+%06d.0  g\r\n" % (number % 40)


async def test_frames_stand_beside_readings_and_are_kept(
    serial_line: SerialLine, tmp_path: Path
) -> None:
    file = tmp_path / "new.capture"
    words = ("--device", serial_line.device, "--format", "ascii-stream", "--readings", "60")
    process = await started("watch", *words, "--capture", str(file), "--note", "a pseudo scale")
    with sending(serial_line.scale_end, frame):
        code, out, err = await ended(process)
    lines = out.splitlines()
    assert (code, err) == (0, "")
    assert r"ST,GR,+000007.0  g\r\n  | 7 g stable" in out
    assert "readings a second, division 1 g, " in lines[-1]
    assert lines[-1].endswith("0 frames dropped") or "1 frames dropped" in lines[-1]
    capture = await asyncio.to_thread(read_capture, file)
    assert capture.notes == {"format": "ascii-stream", "provenance": "a pseudo scale"}
    assert all_bytes(capture.chunks).count(b"\r\n") >= 60


async def test_ctrl_c_ends_it_with_a_summary(serial_line: SerialLine) -> None:
    process = await started("watch", "--device", serial_line.device, "--format", "ascii-stream")
    assert process.stdout is not None
    with sending(serial_line.scale_end, frame):
        async with asyncio.timeout(60):
            assert b"| " in await process.stdout.readline()
        process.send_signal(signal.SIGINT)
        code, out, err = await ended(process)
    assert (code, err) == (0, "")
    assert "readings" in out.splitlines()[-1]


async def test_what_is_no_frame_is_dropped_and_said(serial_line: SerialLine) -> None:
    process = await started("watch", "--device", serial_line.device, "--format", "stx-fixed")
    assert process.stdout is not None
    with sending(serial_line.scale_end, frame):
        said = ""
        async with asyncio.timeout(60):
            while "what arrives is not stx-fixed" not in said:
                said += (await process.stdout.readline()).decode()
        process.send_signal(signal.SIGTERM)
        code, out, _ = await ended(process)
    assert '.0  g\\r\\n": it lacks its start or its end' in said
    assert code == 1
    assert out.splitlines()[-1].startswith("0 readings, division not seen")


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (["--format", "ascii-stream"], "--device: missing; see what is there with"),
        (["--device", "/nowhere", "--format", "odd"], "odd: no such scale format"),
        (["--device", "/nowhere", "--format", "ascii-stream"], "/nowhere: does not exist"),
        (
            ["--device", "usb:none", "--format", "ascii-stream"],
            "usb:none: no adapter with this serial number is plugged in",
        ),
        (
            ["--device", "/nowhere", "--format", "ascii-stream", "--framing", "9X9"],
            'scale watch: --framing: "9X9" is not known',
        ),
    ],
)
def test_wrong_options_are_one_line(
    words: list[str], line: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["scale", "watch", *words]) == 2
    err = capsys.readouterr().err
    assert err.startswith(f"scaled: {line}")
    assert err.count("\n") == 1


def test_a_capture_is_never_written_over(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "old.capture"
    file.write_text("precious", encoding="utf-8")
    words = ["--device", "/nowhere", "--format", "ascii-stream", "--capture", str(file)]
    assert main(["scale", "watch", *words]) == 2
    assert "is there already; name another file" in capsys.readouterr().err
    assert file.read_text(encoding="utf-8") == "precious"


async def test_what_was_seen_is_summed_up_on_the_way() -> None:
    said: list[str] = []
    seen = Watch(said.append)
    for number in range(250):
        await seen.take(Reading(number / 10, float(number), Unit.G))
        if number == 150:
            seen.take_dropped(2, "")
            seen.take_dropped(1, "no frame")
    sums = [line for line in said if "readings" in line]
    assert sums == [
        "101 readings, 10.0 readings a second, division 1 g, 0 dropouts, 0 frames dropped",
        "201 readings, 10.0 readings a second, division 1 g, 0 dropouts, 3 frames dropped",
    ]
    assert "dropped: no frame" in said
