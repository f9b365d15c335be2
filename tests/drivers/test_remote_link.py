"""Lines behind serial servers: real sockets, and pyserial's own RFC 2217 server."""

from __future__ import annotations

import asyncio
import socket
import threading
from contextlib import asynccontextmanager, closing, suppress
from typing import TYPE_CHECKING

import pytest
import serial
from serial.rfc2217 import PortManager

from drivers.links import open_link
from drivers.remote_link import RemoteLink, _connection
from scaled.core.errors import LinkLost, LinkRefused
from scaled.protocol import LineSettings, Link

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Iterator

SERVER = "check that the serial server is on and its address is right"
CLOSED = "the connection was closed; check the serial server, its power and the network"


class Server:
    """A raw TCP serial server with one client."""

    def __init__(self) -> None:
        self.clients: asyncio.Queue[tuple[asyncio.StreamReader, asyncio.StreamWriter]] = (
            asyncio.Queue()
        )
        self.device = ""

    @asynccontextmanager
    async def running(self) -> AsyncIterator[Server]:
        async def take(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
            await self.clients.put((reader, writer))

        async with await asyncio.start_server(take, "127.0.0.1", 0) as server:
            port = server.sockets[0].getsockname()[1]
            self.device = f"socket://127.0.0.1:{port}"
            yield self


@pytest.fixture
async def server() -> AsyncIterator[Server]:
    async with Server().running() as server:
        yield server


@asynccontextmanager
async def connected(server: Server) -> AsyncIterator[tuple[Link, asyncio.StreamWriter]]:
    link = await open_link(server.device, LineSettings())
    reader, writer = await server.clients.get()
    try:
        yield link, writer
    finally:
        await link.close()
        assert await reader.read() == b""
        writer.close()


async def all_of(link: Link, size: int) -> bytes:
    data = b""
    async with asyncio.timeout(60):
        while len(data) < size:
            data += await link.read()
    return data


async def test_bytes_go_both_ways(server: Server) -> None:
    link = await open_link(server.device, LineSettings())
    reader, writer = await server.clients.get()
    said = bytes(range(256)) * 40
    writer.write(said)
    assert await all_of(link, len(said)) == said
    await link.write(b"R\r\n")
    assert await reader.readexactly(3) == b"R\r\n"
    await link.close()
    await link.close()
    writer.close()


async def test_a_cancelled_read_loses_nothing(server: Server) -> None:
    async with connected(server) as (link, writer):
        for word in (b"one", b"two"):
            with pytest.raises(TimeoutError):
                async with asyncio.timeout(0.01):
                    await link.read()
            writer.write(word)
            assert await all_of(link, 3) == word


async def test_a_server_that_closes_is_a_loss(server: Server) -> None:
    async with connected(server) as (link, writer):
        writer.write(b"last words")
        assert await all_of(link, 10) == b"last words"
        writer.close()
        with pytest.raises(LinkLost) as caught:
            await link.read()
        assert str(caught.value) == f"{server.device}: {CLOSED}"
        assert caught.value.__cause__ is not None
        with pytest.raises(LinkLost):
            await link.write(b"R\r\n")


async def test_closing_ends_a_waiting_read(server: Server) -> None:
    async with connected(server) as (link, _), asyncio.TaskGroup() as tasks:
        tasks.create_task(link.close())
        with pytest.raises(LinkLost):
            await link.read()


async def test_a_server_that_takes_nothing_does_not_hold_up_the_loop(server: Server) -> None:
    link = await open_link(server.device, LineSettings())
    _, writer = await server.clients.get()
    writer.transport.pause_reading()  # type: ignore[attr-defined]
    async with asyncio.timeout(10):
        for _ in range(100):
            await link.write(b"R\r\n" * 100_000)
    writer.write(b"still read")
    assert await all_of(link, 10) == b"still read"
    await link.close()
    writer.close()


async def test_what_nobody_reads_is_bounded(server: Server) -> None:
    async with connected(server) as (link, writer):
        assert isinstance(link, RemoteLink)
        writer.write(b"x" * 70_000 + b"end")
        async with asyncio.timeout(60):
            while not link._unread.endswith(b"end"):  # noqa: ASYNC110
                await asyncio.sleep(0.01)
        assert len(link._unread) == 64 * 1024


async def test_a_server_that_loses_its_power_is_noticed(server: Server) -> None:
    async with connected(server) as (link, _):
        assert isinstance(link, RemoteLink)
        connection = _connection(link._port)
        assert connection.getsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE)
        idle, between, times = (
            connection.getsockopt(socket.IPPROTO_TCP, option)
            for option in (socket.TCP_KEEPIDLE, socket.TCP_KEEPINTVL, socket.TCP_KEEPCNT)
        )
        assert idle + between * times <= 15


async def test_what_cannot_be_reached_is_one_line() -> None:
    address = "not an address with a port; write one such as"
    with socket.socket() as deaf:
        deaf.bind(("127.0.0.1", 0))  # and so it is nobody else's meanwhile
        port = deaf.getsockname()[1]
        for device, reason in (
            (f"socket://127.0.0.1:{port}", f"refused: nothing listens at that port; {SERVER}"),
            (f"rfc2217://127.0.0.1:{port}", f"refused: nothing listens at that port; {SERVER}"),
            ("socket://nowhere.invalid:4001", f"there is no host of that name; {SERVER}"),
            ("socket://127.0.0.1", f"{address} socket://10.0.0.7:4001"),
            ("socket://", f"{address} socket://10.0.0.7:4001"),
            ("rfc2217://127.0.0.1:99999", f"{address} rfc2217://10.0.0.7:4001"),
            ("socket://[::1:4001", f"{address} socket://10.0.0.7:4001"),
        ):
            with pytest.raises(LinkRefused) as caught:
                await open_link(device, LineSettings())
            assert str(caught.value) == f"{device}: {reason}"


class Rfc2217Server:
    """Serves a line that echoes to one client; pyserial's own code speaks RFC 2217 for it."""

    def __init__(self) -> None:
        # A pseudo-terminal has no modem lines, which the protocol asks for.
        self.port = serial.serial_for_url("loop://", timeout=0.05)
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.device = f"rfc2217://127.0.0.1:{self._listener.getsockname()[1]}"
        self._thread = threading.Thread(target=self._serve)
        self._thread.start()

    def _serve(self) -> None:
        self._client, _ = self._listener.accept()
        with self._client:
            manager = PortManager(self.port, self)  # type: ignore[arg-type]
            sender = threading.Thread(target=self._send, args=(manager,))
            sender.start()
            while data := self._client.recv(1024):
                self.port.write(b"".join(manager.filter(data)))
            self.port.close()
            sender.join()

    def _send(self, manager: PortManager) -> None:
        with suppress(serial.PortNotOpenError):
            while True:
                data = self.port.read(self.port.in_waiting or 1)
                self._client.sendall(b"".join(manager.escape(data)))

    def write(self, data: bytes) -> None:
        """What the manager answers."""
        self._client.sendall(data)

    def close(self) -> None:
        self._thread.join(timeout=20)
        self._listener.close()
        self.port.close()


@pytest.fixture
def rfc2217() -> Iterator[Rfc2217Server]:
    with closing(Rfc2217Server()) as server:
        yield server


# pyserial 3.5 names its thread in a way that Python 3.10 has deprecated.
@pytest.mark.filterwarnings("ignore:set(Daemon|Name):DeprecationWarning")
async def test_rfc_2217_sets_the_far_line_and_carries_all_bytes(rfc2217: Rfc2217Server) -> None:
    link = await open_link(rfc2217.device, LineSettings(4800, "8N2"))
    assert (rfc2217.port.baudrate, rfc2217.port.stopbits) == (4800, 2)
    await link.write(b"ST,GR,+00123.50  g\r\n\xff\x00")
    assert await all_of(link, 22) == b"ST,GR,+00123.50  g\r\n\xff\x00"
    await link.close()


@pytest.mark.filterwarnings("ignore:set(Daemon|Name):DeprecationWarning")
async def test_a_server_that_speaks_no_rfc_2217_is_one_line(server: Server) -> None:
    device = server.device.replace("socket", "rfc2217") + "?timeout=0.3"
    with pytest.raises(LinkRefused) as caught:
        await open_link(device, LineSettings())
    assert str(caught.value) == f"{device}: what answers does not speak RFC 2217; {SERVER}"
    _, writer = await server.clients.get()
    writer.close()
