"""The whole station in one command, as a person meets it first."""

from __future__ import annotations

import os
import pty
import subprocess
import sys
from typing import TYPE_CHECKING

import pytest

from scaled.cli import main
from scaled.records.query import Selection, sessions, verdicts
from scaled.records.reader import Records

if TYPE_CHECKING:
    from pathlib import Path

DEMO = [sys.executable, "-m", "scaled", "demo"]


def environment(state: Path) -> dict[str, str]:
    return os.environ | {"XDG_STATE_HOME": str(state), "TERM": "xterm-256color"}


@pytest.mark.parametrize("by_radio", [[], ["--ble"]])
def test_without_a_terminal_it_prints_guidance_and_ends(
    tmp_path: Path, by_radio: list[str]
) -> None:
    ended = subprocess.run(
        [*DEMO, *by_radio, "--builds", "1", "--speed", "20"],
        env=environment(tmp_path), capture_output=True, text=True, timeout=200, check=False,
    )  # fmt: skip
    assert (ended.returncode, ended.stderr) == (0, "")
    lines = ended.stdout.splitlines()
    assert any(line.startswith("build 1") for line in lines)
    assert any("the whole build" in line for line in lines)
    journal = tmp_path / "scaled" / "demo" / "journal.db"
    assert lines[-2:] == [
        f"The log of this demo is {journal}",
        f"Export it: scaled records export --format csv --journal {journal}",
    ]
    with Records.open(journal) as records:
        session = next(sessions(records, Selection())).info.session
        assert len(list(verdicts(records, session))) == 8  # seven steps and the whole
        assert not records.verify(None).problems


@pytest.mark.parametrize("by_radio", [[], ["--ble"]])
def test_on_a_terminal_it_shows_the_screen_until_it_is_left(
    tmp_path: Path, by_radio: list[str]
) -> None:
    ours, theirs = pty.openpty()
    demo = subprocess.Popen(
        [*DEMO, *by_radio, "--builds", "1", "--speed", "20"],
        env=environment(tmp_path), stdin=theirs, stdout=theirs, stderr=theirs,
    )  # fmt: skip
    os.close(theirs)
    try:
        shown = b""
        while b"Winter barley bowl" not in shown:
            shown += os.read(ours, 65536)
        os.write(ours, b"q")
        try:
            while left := os.read(ours, 65536):
                shown += left
        except OSError:
            pass  # the terminal's other end is closed: the program has ended
        assert demo.wait(60) == 0
    finally:
        demo.kill()
        demo.wait()
        os.close(ours)
    assert b"The log of this demo is" in shown


def test_a_profile_that_is_not_there_is_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))
    assert main(["demo", "--profile", "nosuch.toml"]) == 2
    line = "scaled: nosuch.toml: no such file; give a profile's id or its path\n"
    assert capsys.readouterr().err == line


def test_a_state_folder_that_cannot_be_is_one_line(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "file"
    file.touch()
    monkeypatch.setenv("XDG_STATE_HOME", str(file))
    assert main(["demo", "--builds", "1"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith(f"scaled: {file}")
    assert err.count("\n") == 1
