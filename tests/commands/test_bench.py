"""``scaled bench`` as it is typed: its refusals, and the screen on a real pseudo-terminal."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
BENCH = (sys.executable, "-m", "scaled", "bench")
COLOUR = re.compile(r"\x1b\[[0-9;]*?\b(?:3[0-8]|4[0-8]|9[0-7]|10[0-7])\b[0-9;]*m")
PATIENCE_S = 60.0


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (
            ["--connect", "shelf"],
            "scaled: shelf: not an address; write unix:PATH or 127.0.0.1:PORT",
        ),
        (["--connect", "unix:"], "scaled: unix:: no socket file is named; write unix:PATH"),
        ([], "scaled: bench: there is no terminal here to draw on; run it in one"),
    ],
)
def test_what_cannot_be_shown_is_one_line(words: list[str], line: str, tmp_path: Path) -> None:
    done = subprocess.run(
        [*BENCH, *words],
        cwd=ROOT,
        env={**os.environ, "XDG_STATE_HOME": str(tmp_path)},
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
        check=False,
    )
    assert (done.returncode, done.stdout, done.stderr) == (2, "", f"{line}\n")


def test_help_has_an_example() -> None:
    done = subprocess.run(
        [*BENCH, "--help"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
        timeout=PATIENCE_S,
    )
    assert "Example: scaled bench" in done.stdout


@pytest.mark.parametrize("no_color", [True, False])
def test_the_screen_comes_up_says_how_to_start_a_station_and_quits(
    tmp_path: Path, *, no_color: bool
) -> None:
    environment = {**os.environ, "TERM": "xterm-256color", "COLORTERM": "truecolor"}
    environment.pop("NO_COLOR", None)
    if no_color:
        environment["NO_COLOR"] = "1"
    words = [*BENCH, "--connect", f"unix:{tmp_path}/s"]
    with on_terminal(words, environment) as (child, terminal):
        seen = read_until(terminal, "start one with: scaled")
        os.write(terminal, b"q")
        read_until_closed(terminal)
        assert child.wait(PATIENCE_S) == 0
    assert bool(COLOUR.search(seen)) is not no_color


@contextmanager
def on_terminal(
    words: list[str], environment: dict[str, str]
) -> Iterator[tuple[subprocess.Popen[bytes], int]]:
    """A program on a pseudo-terminal of 80 by 24."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    child = subprocess.Popen(
        words, cwd=ROOT, env=environment, stdin=theirs, stdout=theirs, stderr=theirs
    )
    os.close(theirs)
    try:
        yield child, ours
    finally:
        child.kill()
        child.wait()
        os.close(ours)


def read_until(terminal: int, words: str) -> str:
    """All that is drawn until the words are there; positions between words do not count."""
    seen = ""
    until = time.monotonic() + PATIENCE_S
    while words not in re.sub(r"\x1b\[[0-9;?]*[A-Za-z]", "", seen):
        assert time.monotonic() < until, seen
        if select.select([terminal], [], [], 0.2)[0]:
            seen += os.read(terminal, 65536).decode(errors="replace")
    return seen


def read_until_closed(terminal: int) -> None:
    """Take what is still drawn, so that the program can end."""
    until = time.monotonic() + PATIENCE_S
    while time.monotonic() < until:
        try:
            if select.select([terminal], [], [], 0.2)[0] and not os.read(terminal, 65536):
                return
        except OSError:  # Linux: the other side is closed
            return
