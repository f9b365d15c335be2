"""A serial line behind a network address, over pyserial's ``socket://`` and ``rfc2217://``.

pyserial reads such a line in its own way, for RFC 2217 in a thread and without a descriptor to
wait for: here a thread reads and wakes the loop, for both.
"""

from __future__ import annotations

import asyncio
import socket
from contextlib import suppress
from threading import Thread
from typing import TYPE_CHECKING, Final
from urllib.parse import urlsplit

import serial

from scaled.core.errors import LinkAbsent, LinkLost, LinkRefused

if TYPE_CHECKING:
    from scaled.protocol import LineSettings

SCHEMES: Final = ("socket", "rfc2217")
"""What such an address begins with."""

_WAIT_S: Final = 0.2
"""How long the thread waits for a byte before it looks whether it is to end, s."""

_MOST_UNREAD: Final = 64 * 1024
"""Bytes kept that nobody has read; the oldest go, as they do in a serial line's own buffer."""

_CHUNK: Final = 4096

_KEEP_ALIVE: Final = (
    (socket.SOL_SOCKET, socket.SO_KEEPALIVE, 1),
    (socket.IPPROTO_TCP, socket.TCP_KEEPIDLE, 5),
    (socket.IPPROTO_TCP, socket.TCP_KEEPINTVL, 2),
    (socket.IPPROTO_TCP, socket.TCP_KEEPCNT, 3),
)
"""A server that lost its power says no goodbye: after 11 s without an answer it is lost."""

_SERVER: Final = "check that the serial server is on and its address is right"


async def open_remote_link(device: str, settings: LineSettings) -> RemoteLink:
    """Open ``socket://HOST:PORT`` or ``rfc2217://HOST:PORT``; the first ignores the settings.

    Raises:
        LinkRefused: Not such an address, or nobody there who answers.
    """
    port = await asyncio.to_thread(_open_port, device, settings)
    return RemoteLink(device, port)


class RemoteLink:
    """An open line at a serial server; see :class:`scaled.protocol.Link`."""

    step_g: float | None = None

    def __init__(self, device: str, port: serial.Serial) -> None:
        """Take over an open port, named in errors as ``device``."""
        self._device = device
        self._port = port
        self._unread = bytearray()
        self._came = asyncio.Event()
        self._loss: BaseException | None = None
        self._closed = False
        self._writing: asyncio.Future[int | None] | None = None
        self._loop = asyncio.get_running_loop()
        self._reader = Thread(target=self._pump, name=f"reads {device}", daemon=True)
        self._reader.start()

    async def read(self) -> bytes:
        """The next bytes, at least one, in order; raises LinkLost."""
        while not self._unread:
            self._raise_if_lost()
            self._came.clear()
            await self._came.wait()
        data = bytes(self._unread)
        self._unread.clear()
        return data

    async def write(self, data: bytes) -> None:
        """Send bytes, dropping them while earlier ones are not taken; raises LinkLost."""
        self._raise_if_lost()
        if self._writing is None or self._writing.done():
            # Not awaited: a server that takes nothing must not hold up what is read from it.
            self._writing = self._loop.run_in_executor(None, self._send, data)

    async def close(self) -> None:
        """Let the line go; calling it again does nothing."""
        if not self._closed:
            self._closed = True
            self._came.set()
            await asyncio.to_thread(self._shut)

    def _raise_if_lost(self) -> None:
        if self._loss is not None or self._closed:
            remedy = "check the serial server, its power and the network"
            raise LinkLost(self._device, "the connection was closed", remedy) from self._loss

    def _pump(self) -> None:
        try:
            while not self._closed:
                data = self._port.read(1)
                while data and len(data) < _CHUNK and (waiting := self._port.in_waiting):
                    data += self._port.read(min(waiting, _CHUNK))
                if data:
                    self._tell(data, None)
        except OSError as err:
            self._tell(b"", err)

    def _tell(self, data: bytes, loss: OSError | None) -> None:
        with suppress(RuntimeError):  # the loop has ended, and with it all who would read
            self._loop.call_soon_threadsafe(self._take, data, loss)

    def _take(self, data: bytes, loss: OSError | None) -> None:
        self._loss = loss
        self._unread += data
        del self._unread[:-_MOST_UNREAD]
        self._came.set()

    def _send(self, data: bytes) -> int | None:
        try:
            sent: int | None = self._port.write(data)
        except OSError:
            return None  # the thread that reads sees the same, and tells
        return sent

    def _shut(self) -> None:
        # Closing the port under the thread that reads it would fail there in many ways; and
        # when the other end has gone first, pyserial leaves the socket open.
        connection = _connection(self._port)
        with suppress(OSError):
            connection.shutdown(socket.SHUT_RDWR)
        self._reader.join()
        self._port.close()
        connection.close()


def _open_port(device: str, settings: LineSettings) -> serial.Serial:
    _check_address(device)
    bits, parity, stop_bits = settings.framing[0], settings.framing[1], settings.framing[2:]
    try:
        port: serial.Serial = serial.serial_for_url(
            device,
            baudrate=settings.baud,
            bytesize=int(bits),
            parity=parity,
            stopbits=float(stop_bits),
            timeout=_WAIT_S,
        )
    except (OSError, ValueError) as err:
        raise LinkAbsent(device, _reason(err), _SERVER) from err
    connection = _connection(port)
    for level, option, value in _KEEP_ALIVE:
        connection.setsockopt(level, option, value)
    return port


def _connection(port: serial.Serial) -> socket.socket:
    connection: socket.socket = port._socket  # type: ignore[attr-defined]  # noqa: SLF001
    return connection


def _check_address(device: str) -> None:
    try:
        address = urlsplit(device)
        complete = bool(address.hostname and address.port)
    except ValueError:
        complete = False
    if not complete:
        scheme = device.partition(":")[0]
        raise LinkRefused(
            device, "not an address with a port", f"write one such as {scheme}://10.0.0.7:4001"
        )


def _reason(err: BaseException) -> str:
    """Why, in plain words; pyserial hides the system's error in the one it raises."""
    cause = err.__context__
    match cause:
        case ConnectionRefusedError():
            return "refused: nothing listens at that port"
        case socket.gaierror():
            return "there is no host of that name"
        case TimeoutError():
            return "nothing answers"
        case OSError(strerror=str(why)):
            return f"cannot be reached ({why})"
        case None:
            return "what answers does not speak RFC 2217"
        case _:
            return f"cannot be opened ({err})"
