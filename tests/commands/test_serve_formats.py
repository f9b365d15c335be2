"""``scaled serve`` with a user's own description, and with a scale behind a serial server."""

from __future__ import annotations

import asyncio
from contextlib import asynccontextmanager
from importlib import resources
from typing import TYPE_CHECKING

import pytest

from scaled.cli import main
from tests.commands.daemon import PERIOD_S, STATION, Daemon, portion_lentils
from tests.station.rig import frame

if TYPE_CHECKING:
    from collections.abc import AsyncIterator
    from pathlib import Path

    from tests.conftest import SerialLine


class OtherDaemon(Daemon):
    """A daemon with further options, which count more."""

    further: tuple[str, ...] = ()

    @property
    def options(self) -> list[str]:
        return [*super().options, *self.further]


@pytest.fixture
def daemon(tmp_path: Path, serial_line: SerialLine) -> OtherDaemon:
    return OtherDaemon(tmp_path, serial_line)


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """A description as a user keeps it."""
    path = tmp_path / "my-scale.toml"
    shipped = resources.files("drivers.formats") / "ascii-stream.toml"
    path.write_text(shipped.read_text() + "\n[serial]\nbaud = 4800\nframing = '7E1'\n")
    return path


async def test_a_description_of_the_users_own(daemon: OtherDaemon, own: Path) -> None:
    daemon.further = ("--format", str(own))
    async with daemon.running() as (_, http):
        assert f"({own})" in daemon.ready_line
        assert (await portion_lentils(daemon, http))["verdict"] == "pass"
        state = (await http.get(STATION)).json()
        assert (state["link"]["state"], state["link"]["format"]) == ("live", str(own))


@pytest.mark.parametrize(
    ("damage", "line"),
    [
        (('"weight"', '"wieght"'), 'line 21, field 5: kind "wieght" is not known; did you mean'),
        (("width = 9", "width = 0"), "line 23, field 5, width: 0 is out of range; write a number"),
        (("schema = 1", ""), "schema: missing; add schema = 1"),
    ],
)
def test_a_wrong_description_is_one_line(
    daemon: OtherDaemon, own: Path, damage: tuple[str, str], line: str,
    capsys: pytest.CaptureFixture[str],
) -> None:  # fmt: skip
    own.write_text(own.read_text().replace(*damage))
    daemon.further = ("--format", str(own))
    assert main(["serve", *daemon.options]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith(f"scaled: {own}: {line}")
    assert err.count("\n") == 1


@asynccontextmanager
async def serial_server(daemon: Daemon) -> AsyncIterator[str]:
    """A serial server at which the same scale can be had; its address."""

    stopping, stopped = asyncio.Event(), asyncio.Event()

    async def show(_: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        while not stopping.is_set():
            writer.write(frame(daemon.weight_g))
            await asyncio.sleep(PERIOD_S)
        writer.close()
        stopped.set()

    async with await asyncio.start_server(show, "127.0.0.1", 0) as server:
        yield f"socket://127.0.0.1:{server.sockets[0].getsockname()[1]}"
        stopping.set()
        await stopped.wait()


async def test_a_scale_behind_a_serial_server(daemon: OtherDaemon) -> None:
    async with serial_server(daemon) as address:
        daemon.further = ("--device", address)
        async with daemon.running() as (_, http):
            assert (await portion_lentils(daemon, http))["verdict"] == "pass"


def test_a_serial_server_that_is_not_there_is_one_line(
    daemon: OtherDaemon, capsys: pytest.CaptureFixture[str]
) -> None:
    daemon.further = ("--device", "socket://127.0.0.1:1")
    assert main(["serve", *daemon.options]) == 2
    assert capsys.readouterr().err == (
        "scaled: socket://127.0.0.1:1: refused: nothing listens at that port; "
        "check that the serial server is on and its address is right\n"
    )
