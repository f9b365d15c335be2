"""A check that the running station makes: asked for in a terminal, and led by the screen."""

from __future__ import annotations

import asyncio
import fcntl
import os
import re
import select
import struct
import subprocess
import sys
import termios
import threading
import time
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Self

import httpx
import pytest

from scaled.cli import main
from scaled.commands import scale_verify
from scaled.commands.check_request import Request
from scaled.commands.check_there import check_there
from scaled.config import journal_in, read_config
from scaled.core.checkup import Spot
from scaled.records.query import Selection, checks
from scaled.records.reader import Records
from scaled.station.check_plan import CheckWanted, plan_check
from scaled.station.check_run import CheckingState
from scaled.station.link import LinkState, LinkStatus
from tests.checker import DEADLINE_S, Checker, served
from tests.core.checked import scale
from tests.screens.check_scenes import checking, of
from tests.screens.eventually import eventually
from tests.screens.fake_station import FakeStation

if TYPE_CHECKING:
    from collections.abc import Iterator

    from scaled.config import Config
    from scaled.records.check import ScaleCheck
    from simulators.pan_make import PanMake

ROOT = Path(__file__).parents[2]
CONFIG = """
state = "state"
[[station]]
name = "line-1"
device = "{device}"
format = "ascii-stream"
division = "1 g"
class = "III"
capacity = "6 kg"
profile = "winter-barley-bowl"
test_weights = ["2 kg"]
check_of_the_day = "refuse"
stale_s = 60.0
"""


class Kitchen:
    """One station at a simulated scale, and the person at it."""

    def __init__(self, folder: Path, make: PanMake) -> None:
        self.file = folder / "kitchen.toml"
        self.file.write_text(CONFIG.format(device=folder / "scale"), encoding="utf-8")
        self.config = read_config(self.file)
        self.checker = Checker(make, folder / "scale")
        self.address = str(self.config.listen)

    def ask(self, **command: object) -> httpx.Response:
        transport = httpx.HTTPTransport(uds=self.address.removeprefix("unix:"), verify=False)
        with httpx.Client(
            transport=transport, base_url="http://station", timeout=DEADLINE_S
        ) as http:
            return http.post("/v1/stations/line-1/commands", json=command)

    def checks(self) -> list[ScaleCheck]:
        with Records.open(journal_in(self.config.state)) as records:
            assert records.verify().problems == ()
            return [found.check for found in checks(records, Selection())]


@pytest.fixture
def kitchen(tmp_path: Path) -> Iterator[Kitchen]:
    place = Kitchen(tmp_path, scale())
    with place.checker.at_work(), served(place.config, place.checker.clock):
        yield place


def verify(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch, *options: str, told: list[object]
) -> int:
    """``scaled scale verify`` with somebody who does what it asks."""
    shown = scale_verify.tell

    def tell(news: CheckingState | LinkStatus) -> None:
        shown(news)
        told.append(news)
        kitchen.checker.tell(news)

    monkeypatch.setattr(scale_verify, "tell", tell)
    return main(["scale", "verify", "--config", str(kitchen.file), *options])


def test_the_command_has_the_running_station_make_it(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert verify(kitchen, monkeypatch, "--badge", "Q-002", told=[]) == 0
    out = capsys.readouterr().out
    assert out.startswith(" 1 of 8  empty the pan\n 1 of 8  put on 2 kg, middle\n")
    assert " 8 of 8  put on 2 kg, back left\n 8 of 8  empty the pan\n\nSCALE CHECK" in out
    assert "OIML R 76-1:2006, Table 6, class\nIII, in service (3.5.2)\n" in out
    (check,) = kitchen.checks()
    assert (check.badge, check.station) == ("Q-002", "line-1")
    state = kitchen.ask(command="note", text="checked").json()
    assert state["session"]["profile"] == "winter-barley-bowl"


def test_what_the_station_refuses_is_one_line(
    kitchen: Kitchen, capsys: pytest.CaptureFixture[str]
) -> None:
    assert kitchen.ask(command="check").status_code == 200
    assert main(["scale", "verify", "--config", str(kitchen.file)]) == 2
    assert capsys.readouterr().err == (
        "scaled: line-1: the scale is being checked; finish that or abandon it first\n"
    )


def test_a_check_abandoned_at_the_screen_ends_the_command(
    kitchen: Kitchen, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    told: list[object] = []
    tell = kitchen.checker.tell
    at_screen = threading.Thread(target=lambda: kitchen.ask(command="abandon"))

    def abandon(news: object) -> None:
        if len(told) <= 3:  # and nothing more is done: it cannot come to its end first
            tell(news)
        if len(told) == 3:
            at_screen.start()

    monkeypatch.setattr(kitchen.checker, "tell", abandon)
    assert verify(kitchen, monkeypatch, told=told) == 1
    assert capsys.readouterr().out.endswith("the check was abandoned; nothing of it is kept\n")
    assert kitchen.checks() == []
    at_screen.join()


async def test_an_interrupt_abandons_it_and_a_lost_scale_is_told(tmp_path: Path) -> None:
    config = await asyncio.to_thread(kitchen_at, tmp_path)
    request = Request(config, CheckWanted(), plan_check(config.stations[0], CheckWanted()))
    told: list[object] = []
    station = FakeStation(of(checking(2, 0.0)))
    async with station.serving(uds=str(tmp_path / "state" / "station.sock")):
        async with asyncio.TaskGroup() as tasks:
            running = tasks.create_task(check_there(request, told.append))
            await eventually(lambda: told)
            station.show(of(checking(2, 0.0), LinkState.LOST))
            await eventually(lambda: len(told) == 2)
            running.cancel()
        assert [command["command"] for command in station.commands] == ["check", "abandon"]
    assert isinstance(told[0], CheckingState)
    assert isinstance(told[1], LinkStatus)


async def test_a_daemon_that_comes_back_without_the_check_ends_it(tmp_path: Path) -> None:
    config = await asyncio.to_thread(kitchen_at, tmp_path)
    request = Request(config, CheckWanted(), plan_check(config.stations[0], CheckWanted()))
    told: list[object] = []
    socket = str(tmp_path / "state" / "station.sock")
    begun = of(checking(2, 0.0))
    async with asyncio.TaskGroup() as tasks:
        async with FakeStation(begun).serving(uds=socket):
            running = tasks.create_task(check_there(request, told.append))
            await eventually(lambda: told)
        async with FakeStation(replace(begun, checking=None)).serving(uds=socket):
            assert await running


def kitchen_at(folder: Path) -> Config:
    (folder / "state").mkdir()
    file = folder / "kitchen.toml"
    file.write_text(CONFIG.format(device=folder / "scale"), encoding="utf-8")
    return read_config(file)


ESCAPES = re.compile(r"\x1b\[[0-9;?]*[A-Za-z]")
ASKED = re.compile(r"put 2 kg (?:in the |at the )([a-z ]+) of the pan|take everything off the pan")


class Terminal:
    """The cook's screen in a process of its own on a pseudo-terminal."""

    def __init__(self, address: str, columns: int, rows: int) -> None:
        self._ours, theirs = os.openpty()
        fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
        self._child = subprocess.Popen(
            [sys.executable, "-m", "scaled", "bench", "--connect", address],
            cwd=ROOT,
            env={**os.environ, "TERM": "xterm-256color"},
            stdin=theirs,
            stdout=theirs,
            stderr=theirs,
        )
        os.close(theirs)
        self._drawn = ""

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._child.kill()
        self._child.wait()
        os.close(self._ours)

    @property
    def drawn(self) -> str:
        """All that was drawn since the start, without colours and places."""
        while select.select([self._ours], [], [], 0.02)[0]:
            with suppress(UnicodeDecodeError):
                self._drawn += os.read(self._ours, 65536).decode(errors="replace")
        return ESCAPES.sub("", self._drawn)

    def type(self, keys: str) -> None:
        os.write(self._ours, keys.encode())

    def sees(self, words: str) -> None:
        until = time.monotonic() + DEADLINE_S
        while words not in self.drawn:
            assert time.monotonic() < until, self.drawn[-4000:]


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
def test_the_screen_leads_through_it_from_an_unchecked_scale_to_the_first_bowl(
    kitchen: Kitchen, size: tuple[int, int]
) -> None:
    """Whoever is at the scale knows only what the terminal shows."""
    with Terminal(kitchen.address, *size) as terminal:
        terminal.sees("no build can begin until it is: press S")
        terminal.type("s")
        terminal.sees("Empty the pan, then begin")
        terminal.type("\r")
        obeyed, until = 0, time.monotonic() + DEADLINE_S
        result = "by OIML R 76-1:2006, Table 6, class III, in service (3.5.2); press N, or set"
        while result not in terminal.drawn:
            assert time.monotonic() < until, terminal.drawn[-4000:]
            for asked in ASKED.finditer(terminal.drawn, obeyed):
                obeyed, until = asked.end(), time.monotonic() + DEADLINE_S
                spot = asked.group(1)
                kitchen.checker.put(2000.0 if spot else 0.0, Spot(spot or "middle"))
        kitchen.checker.put(18.0)
        terminal.sees("add 118 g of pearl barley")
    (check,) = kitchen.checks()
    assert check.verification.holds
