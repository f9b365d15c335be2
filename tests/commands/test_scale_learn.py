from __future__ import annotations

import asyncio
from itertools import pairwise
from typing import TYPE_CHECKING

import pytest

from drivers.described.decoder import decoder_maker
from drivers.described.file import read_format
from scaled.capture import Capture, Chunk, capture_text
from scaled.cli import main
from scaled.core.reading import Reading, Unit
from simulators.lesson import lesson
from simulators.random_format import UNITS
from tests.benchmarks.classroom import made_up, shipped
from tests.commands.scale_at_line import ended, sending, started

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from simulators.display import Shown
    from simulators.lesson import Lesson
    from tests.conftest import SerialLine


def recorded(path: Path, *, weight: str = "200 g") -> Path:
    pupil = made_up(9001)
    given = lesson(1, 200, pupil.units)
    notes = {f"at {t:.3f}": mark.replace("200 g", weight) for t, mark in given.marks}
    chunks = tuple(Chunk(one.t, pupil.write(one)) for one in given.shown)
    path.write_text(capture_text(Capture(chunks, notes)), encoding="utf-8")
    return path


def test_a_capture_teaches(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    source, out = recorded(tmp_path / "heard.capture"), tmp_path / "new.toml"
    words = ["--from", str(source), "--baud", "4800", "--poll", r"R\r\n", str(out)]
    assert main(["scale", "learn", *words]) == 0
    said = capsys.readouterr().out
    assert said.startswith("sure: ")
    assert "\nnot sure: " in said
    description = read_format(out)
    assert description.serial.baud == 4800
    assert description.poll is not None
    assert description.poll.request == "R\r\n"


def test_what_does_not_fit_writes_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = recorded(tmp_path / "heard.capture", weight="310 g")
    out = tmp_path / "new.toml"
    assert main(["scale", "learn", "--from", str(source), str(out)]) == 1
    assert capsys.readouterr().err.startswith("nothing learnt: no frame fits what was on the pan")
    assert not out.exists()


def test_a_capture_that_is_too_long_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    source = recorded(tmp_path / "heard.capture")
    with source.open("a", encoding="utf-8") as file:
        file.writelines(f"99.0 {1000 * 'x'}\\n\n" for _ in range(270))
    assert main(["scale", "learn", "--from", str(source), str(tmp_path / "new.toml")]) == 2
    assert capsys.readouterr().err == (
        f"scaled: {source}: more than 256 kB: keep a shorter piece of each thing shown\n"
    )


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (["x.txt"], "x.txt: a description's name ends with .toml"),
        (["x.toml"], "--device: missing; see what is there"),
        (["x.toml", "--device", "/nowhere"], "--weight: missing; name a weight you have"),
        (["x.toml", "--device", "/nowhere", "--weight", "much"], "much: not a known weight"),
        (["x.toml", "--device", "/nowhere", "--weight", "200g"], "/nowhere: does not exist"),
        (["x.toml", "--from", "/nowhere"], "/nowhere: cannot be read: No such file"),
    ],
)
def test_wrong_options_are_one_line(
    words: list[str], line: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["scale", "learn", *words]) == 2
    err = capsys.readouterr().err
    assert err.startswith(f"scaled: {line}")
    assert err.count("\n") == 1


class Hand:
    """Shows part after part of a lesson at a scale, holding the last weight of each."""

    def __init__(self, given: Lesson, write: Callable[[Shown], bytes]) -> None:
        begins = [*(t for t, _ in given.marks), given.shown[-1].t + 1]
        self.parts = [
            [write(one) for one in given.shown if a <= one.t < b] for a, b in pairwise(begins)
        ]
        self._at = self._number = 0

    def next_frame(self, _: int) -> bytes:
        part = self.parts[self._at]
        self._number += 1
        return part[min(self._number, len(part)) - 1]

    async def show(self, part: int) -> None:
        self._at, self._number = part, 0
        while self._number < len(self.parts[part]):  # noqa: ASYNC110 -- a thread counts
            await asyncio.sleep(0.02)


HAND = Hand(lesson(2, 200, UNITS), shipped("stx-fixed").write)


async def test_a_scale_is_taught_at_its_line(serial_line: SerialLine, tmp_path: Path) -> None:
    out, kept = tmp_path / "new.toml", tmp_path / "kept.capture"
    words = ("--device", serial_line.device, "--weight", "200g", "--capture", str(kept))
    process = await started("learn", *words, str(out))
    assert process.stdout is not None
    assert process.stdin is not None
    with sending(serial_line.scale_end, HAND.next_frame):
        for part in range(len(HAND.parts)):
            async with asyncio.timeout(60):
                assert b"Enter" in await process.stdout.readline()
                await HAND.show(part)
            process.stdin.write(b"\n")
        code, said, err = await ended(process)
    assert (code, err) == (0, "")
    assert "sure: sign: leading" in said
    await asyncio.to_thread(check_what_was_written, out, kept)


def check_what_was_written(out: Path, kept: Path) -> None:
    decoder = decoder_maker(read_format(out))()
    assert decoder.feed(b"\x02MN    -4.5g \x03", 1.0) == [Reading(1.0, -4.5, Unit.G, stable=False)]
    again = out.with_name("again.toml")
    assert main(["scale", "learn", "--from", str(kept), str(again)]) == 0  # it was kept
    assert read_format(again) == read_format(out)


async def test_a_silent_line_is_one_line(serial_line: SerialLine, tmp_path: Path) -> None:
    words = ("--device", serial_line.device, "--weight", "200g", str(tmp_path / "new.toml"))
    code, out, err = await ended(await started("learn", *words))
    assert (code, out) == (2, "")
    assert err.startswith(f"scaled: {serial_line.device}: says nothing; check that it is on")
    assert err.count("\n") == 1
