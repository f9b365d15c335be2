# ruff: noqa: ASYNC240 -- a test may wait for its own small files
from __future__ import annotations

import asyncio
import socket
import stat
from contextlib import asynccontextmanager
from typing import TYPE_CHECKING

import pytest

from scaled.address import TcpAddress, UnixAddress, parse_address
from scaled.core.errors import ServerError
from scaled.server.listen import listening

if TYPE_CHECKING:
    from collections.abc import AsyncIterator
    from pathlib import Path

    from scaled.address import Address
    from tests.server.house import HouseRig


@pytest.fixture
def path(tmp_path: Path) -> Path:
    """Where a socket file is to be."""
    return tmp_path / "station.sock"


async def line_of(address: Address) -> str:
    with pytest.raises(ServerError) as raised:
        async with listening(address):
            pass
    return str(raised.value)


@asynccontextmanager
async def answering(address: Address, reply: bytes) -> AsyncIterator[Address]:
    """Another program that listens there and says one thing to all."""

    async def answer(_: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        writer.write(reply)
        writer.close()

    async with (
        listening(address) as (sock, taken),
        await asyncio.start_server(answer, sock=sock),
    ):
        yield taken


async def test_a_socket_file_is_its_owners_alone_and_gone_afterwards(path: Path) -> None:
    async with listening(UnixAddress(path)):
        mode = path.stat().st_mode
        assert stat.S_ISSOCK(mode)
        assert stat.S_IMODE(mode) == 0o600
    assert not path.exists()


async def test_the_port_chosen_by_the_system_is_told() -> None:
    async with listening(TcpAddress("127.0.0.1", 0)) as (sock, address):
        assert address == TcpAddress("127.0.0.1", sock.getsockname()[1])
        assert address.port > 0


async def test_both_kinds_of_loopback() -> None:
    async with listening(TcpAddress("::1", 0)) as (_, address):
        assert str(address).startswith("[::1]:")


async def test_a_dead_daemons_file_is_replaced(path: Path) -> None:
    with socket.socket(socket.AF_UNIX) as dead:
        dead.bind(str(path))
        dead.listen()
    assert path.exists()
    async with listening(UnixAddress(path)):
        _, writer = await asyncio.open_unix_connection(path)
        writer.close()
        await writer.wait_closed()


async def test_a_file_that_is_no_socket_stays(path: Path) -> None:
    path.write_text("precious")
    told = await line_of(UnixAddress(path))
    assert told == (
        f"unix:{path}: cannot listen here: a file that is no socket is there;"
        " choose another with --listen"
    )
    assert path.read_text() == "precious"


async def test_a_folder_that_is_not_there_is_not_made(tmp_path: Path) -> None:
    folder = tmp_path / "gone"
    told = await line_of(UnixAddress(folder / "station.sock"))
    assert told == (
        f"unix:{folder}/station.sock: cannot listen here: there is no folder {folder};"
        " choose another with --listen"
    )
    assert not folder.exists()


async def test_a_folder_that_is_a_file(path: Path) -> None:
    path.write_text("not a folder")
    told = await line_of(UnixAddress(path / "station.sock"))
    assert told.startswith(f"unix:{path}/station.sock: cannot listen here: ")
    assert told.endswith("choose another with --listen")


async def test_a_file_that_replaced_ours_is_not_removed(path: Path) -> None:
    async with listening(UnixAddress(path)):
        path.unlink()
        path.write_text("another's")
    assert path.read_text() == "another's"


@pytest.mark.parametrize("where", ["unix:", "127.0.0.1:0"])
async def test_another_daemon_is_named(house: HouseRig, where: str) -> None:
    if where != "unix:":
        house.keys["listen"] = where
    async with house.running():
        address = parse_address(house.address)
        told = await line_of(address)
        health = f"{house.address}: another scaled daemon (process "
        assert told.startswith(health)
        assert told.endswith(
            ", station line-1) listens here already; stop it, or choose another with --listen"
        )
        if isinstance(address, UnixAddress):
            assert address.path.is_socket()


@pytest.mark.parametrize(
    "reply",
    [
        b"",
        b"220 ready\r\n",
        b"HTTP/1.1 404 Not Found\r\nContent-Length: 2\r\n\r\n{}",
        b"HTTP/1.1 200 OK\r\nContent-Length: 2\r\n\r\n[]",
        b'HTTP/1.1 200 OK\r\nContent-Length: 17\r\n\r\n{"program":"else"}',
    ],
)
async def test_another_program_is_told_from_a_daemon(path: Path, reply: bytes) -> None:
    for address in (UnixAddress(path), TcpAddress("127.0.0.1", 0)):
        async with answering(address, reply) as taken:
            assert await line_of(taken) == (
                f"{taken}: another program listens here already; stop it,"
                " or choose another with --listen"
            )
