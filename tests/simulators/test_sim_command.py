"""``scaled sim`` as its user meets it: a process of its own."""

from __future__ import annotations

import argparse
import asyncio
import signal
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import pytest
import serial

from drivers.ble_link import PATIENCE
from drivers.weight_scale_service import open_weight_scale
from scaled.commands import sim
from scaled.core.errors import ConfigError, InputError, LinkLost, LinkRefused
from scaled.protocol import LineSettings
from scaled.recording import read_recording
from tests.air import forget

PROGRAM = """
import argparse, sys
from scaled.commands import sim
parser = argparse.ArgumentParser()
sim.add(parser.add_subparsers())
args = parser.parse_args(["sim", *sys.argv[1:]])
sys.exit(args.run(args))
"""


def run(*options: str) -> int:
    parser = argparse.ArgumentParser()
    sim.add(parser.add_subparsers())
    args = parser.parse_args(["sim", *options])
    return int(args.run(args))


@contextmanager
def process(
    options: Sequence[str], stdin: int = subprocess.DEVNULL
) -> Iterator[subprocess.Popen[str]]:
    with subprocess.Popen(
        [sys.executable, "-c", PROGRAM, *options],
        stdin=stdin,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as started:
        try:
            yield started
        finally:
            started.kill()


def type_in(started: subprocess.Popen[str], words: str) -> None:
    assert started.stdin is not None
    started.stdin.write(words)
    started.stdin.flush()


def first_line(started: subprocess.Popen[str]) -> str:
    assert started.stdout is not None
    return started.stdout.readline().rstrip("\n")


@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM])
def test_says_where_it_is_and_leaves_nothing_behind(tmp_path: Path, number: int) -> None:
    link = tmp_path / "scale"
    with process(["--link", str(link)]) as started:
        assert first_line(started) == str(link)
        assert (
            first_line(started) == f"Open it: scaled serve --device {link} --format ascii-stream"
        )
        with serial.Serial(str(link), timeout=60) as line:
            line.readline()  # the first may have begun before we listened
            assert line.readline().startswith((b"ST,GR,+", b"US,GR,+"))
        started.send_signal(number)
        out, err = started.communicate(timeout=60)
    assert (started.returncode, out, err) == (0, "", "")
    assert list(tmp_path.iterdir()) == []


def test_runs_with_standard_input_closed(tmp_path: Path) -> None:
    link = tmp_path / "scale"
    shell = ["/bin/sh", "-c", 'exec "$@" <&-', "sh"]
    command = [*shell, sys.executable, "-c", PROGRAM, "--link", str(link)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as started:
        try:
            assert first_line(started) == str(link)
            with serial.Serial(str(link), timeout=60) as line:
                assert line.readline()
            started.terminate()
            assert started.wait(timeout=60) == 0
        finally:
            started.kill()


def test_obeys_typed_words(tmp_path: Path) -> None:
    link = tmp_path / "scale"
    options = ["--link", str(link), "--format", "ascii-poll"]
    with process(options, stdin=subprocess.PIPE) as started:
        first_line(started)
        assert started.stderr is not None
        with serial.Serial(str(link), timeout=60) as line:
            type_in(started, "unplug\n")
            with pytest.raises(serial.SerialException):
                line.read()
        type_in(started, "plug\nsing\n")
        assert (
            "sing: write unplug, plug, hush, speak, pause, go, quit" in started.stderr.readline()
        )
        with serial.Serial(str(link), timeout=60) as line:
            line.write(b"R\r\n")
            assert line.readline()[:1] == b"W"
        type_in(started, "pause\ngo\nquit\n")
        assert started.wait(timeout=60) == 0


async def test_runs_on_the_air_and_obeys_typed_words_there(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    socket = tmp_path / "radio"
    monkeypatch.setenv("DBUS_SYSTEM_BUS_ADDRESS", f"unix:path={socket}")
    options = ["--ble", "--format", "weight-scale-service", "--link", str(socket)]
    haste = replace(PATIENCE, found=0.2)
    with process(options, stdin=subprocess.PIPE) as started:
        assert started.stderr is not None
        assert await asyncio.to_thread(first_line, started) == sim.ADDRESS
        assert await asyncio.to_thread(first_line, started) == (
            f"Open it: DBUS_SYSTEM_BUS_ADDRESS=unix:path={socket} "
            f"scaled serve --device {sim.ADDRESS} --format weight-scale-service"
        )
        link = await open_weight_scale(sim.ADDRESS, LineSettings(), PATIENCE)
        assert await link.read() == b"\0\0\0"
        type_in(started, "vanish\nsing\n")
        words = await asyncio.to_thread(started.stderr.readline)
        assert words.startswith("sing: write drop, vanish, return, hang, ")
        with pytest.raises(LinkLost):  # noqa: PT012 -- what was said before comes first
            while True:
                await link.read()
        await link.close()
        with pytest.raises(LinkRefused, match="not found over Bluetooth"):
            await open_weight_scale(sim.ADDRESS, LineSettings(), haste)
        type_in(started, "return\n")
        link = await open_weight_scale(sim.ADDRESS, LineSettings(), PATIENCE)
        assert await link.read() == b"\0\0\0"
        await link.close()
        await forget()
        type_in(started, "quit\n")
        assert await asyncio.to_thread(started.wait, 60) == 0
    assert await asyncio.to_thread(lambda: list(tmp_path.iterdir())) == []


def test_records_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "run.csv"
    options = ["--profile", "orchard-oat-pot", "--builds", "2", "--seed", "4", "--division", "2g"]
    assert run("--record", str(file), *options) == 0
    recording = read_recording(file)
    assert recording.scale.division_g == 2.0
    assert recording.notes["source"] == "simulated, seed 4, profile orchard-oat-pot"
    assert f"{len(recording.readings)} readings, 2 builds" in capsys.readouterr().out
    again = tmp_path / "again.csv"
    run("--record", str(again), *options)
    assert again.read_bytes() == file.read_bytes()


@pytest.mark.parametrize(
    ("options", "line"),
    [
        (
            ["--format", "weight-scale-service"],
            "--format: weight-scale-service goes by radio; add --ble",
        ),
        (["--ble", "--link", "/none/radio"], "--link: /none/radio: No such file or directory"),
        (
            ["--division", "0g"],
            '--division: "0g" is not a division; write one such as "1g" or "0.05oz"',
        ),
        (
            ["--link", "/dev/null"],
            "--link: /dev/null: in use; stop what uses it, or choose another path",
        ),
        (["--link", "/none/scale"], "--link: /none/scale: No such file or directory"),
        (
            ["--record", "/none/run.csv"],
            "/none/run.csv: cannot be written (No such file or directory); "
            "free some space or name another file",
        ),
    ],
)
def test_says_what_is_wrong_in_one_line(options: list[str], line: str) -> None:
    with pytest.raises(ConfigError) as caught:
        run(*options)
    assert str(caught.value) == line


def test_a_recording_replaces_files_only(tmp_path: Path) -> None:
    (tmp_path / "run.csv").mkdir()
    with pytest.raises(ConfigError, match=r"run\.csv: not a file; name one"):
        run("--record", str(tmp_path / "run.csv"))
    with pytest.raises(ConfigError, match="/dev/null: not a file; name one"):
        run("--record", "/dev/null")
    assert [entry.name for entry in tmp_path.iterdir()] == ["run.csv"]


@pytest.mark.parametrize("name", ["x" * 300, "notes/run.csv"])
def test_a_recording_that_cannot_be_written_leaves_nothing(tmp_path: Path, name: str) -> None:
    (tmp_path / "notes").write_text("mine")
    with pytest.raises(ConfigError, match="cannot be written"):
        run("--record", str(tmp_path / name))
    assert [entry.name for entry in tmp_path.iterdir()] == ["notes"]


def test_a_broken_profile_is_named(tmp_path: Path) -> None:
    (tmp_path / "bad.toml").write_text("schema = 1\n")
    with pytest.raises(InputError, match=r"bad\.toml"):
        run("--profile", str(tmp_path / "bad.toml"), "--record", str(tmp_path / "x.csv"))
    assert not (tmp_path / "x.csv").exists()
