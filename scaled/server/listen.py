"""Taking an address to listen on: never another daemon's, never a file that is not ours."""

from __future__ import annotations

import asyncio
import errno
import socket
import stat
from contextlib import asynccontextmanager
from typing import TYPE_CHECKING, Final

from scaled.address import TcpAddress, UnixAddress
from scaled.core.errors import ServerError

if TYPE_CHECKING:
    from collections.abc import AsyncIterator
    from pathlib import Path

    from scaled.address import Address

PROGRAM: Final = "scaled"
"""How a daemon of ours answers to "who is there"."""
_ANSWER_S: Final = 4.0
"""How long a daemon that is there may take to say so, s."""
_ELSEWHERE: Final = "choose another with --listen"


@asynccontextmanager
async def listening(address: Address) -> AsyncIterator[tuple[socket.socket, Address]]:
    """A listening socket, and the address with the port the system chose if it was to.

    A socket file is open to its owner alone, replaces one that a dead daemon left behind, and
    is gone afterwards.

    Raises:
        ServerError: It cannot be listened on; says which other daemon is there.
    """
    if isinstance(address, TcpAddress):
        with await _take_port(address) as sock:
            yield sock, TcpAddress(address.host, sock.getsockname()[1])
        return
    with await _take_file(address) as sock:
        ours = await asyncio.to_thread(_identity, address.path)
        try:
            yield sock, address
        finally:
            await asyncio.to_thread(_remove, address.path, ours)


async def _take_port(address: TcpAddress) -> socket.socket:
    family = socket.AF_INET6 if ":" in address.host else socket.AF_INET
    sock = socket.socket(family, socket.SOCK_STREAM)
    try:
        sock.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        sock.bind((address.host, address.port))
        sock.listen()
    except OSError as err:
        sock.close()
        if err.errno == errno.EADDRINUSE:
            raise await _taken(address) from err
        raise _unusable(address, err) from err
    return sock


async def _take_file(address: UnixAddress) -> socket.socket:
    try:
        if await _is_answered(address.path):
            raise await _taken(address)
        return await asyncio.to_thread(_bind_file, address.path)
    except OSError as err:
        raise _unusable(address, err) from err


async def _is_answered(path: Path) -> bool:
    """Whether somebody listens there; a dead daemon's file does not answer."""
    try:
        _, writer = await asyncio.open_unix_connection(path)
    except (FileNotFoundError, ConnectionRefusedError):
        return False
    writer.close()
    await writer.wait_closed()
    return True


def _bind_file(path: Path) -> socket.socket:
    if not path.parent.exists():
        raise FileNotFoundError(errno.ENOENT, f"there is no folder {path.parent}")
    if path.exists():
        if not stat.S_ISSOCK(path.stat().st_mode):
            raise FileExistsError(errno.EEXIST, "a file that is no socket is there")
        path.unlink()
    sock = socket.socket(socket.AF_UNIX, socket.SOCK_STREAM)
    try:
        sock.bind(str(path))
        path.chmod(0o600)
        sock.listen()  # only now: nobody could connect before the permissions were right
    except BaseException:
        sock.close()
        raise
    return sock


async def _taken(address: Address) -> ServerError:
    who = await _who_answers(address) or "another program"
    return ServerError(str(address), "", f"{who} listens here already; stop it, or {_ELSEWHERE}")


async def _who_answers(address: Address) -> str | None:
    """The daemon of ours that listens there, None when what listens is not of ours."""
    import httpx  # noqa: PLC0415 -- slow, and hardly ever needed

    uds = str(address.path) if isinstance(address, UnixAddress) else None
    url = f"http://{address if uds is None else 'station'}/v1/health"
    transport = httpx.AsyncHTTPTransport(uds=uds, verify=False)
    try:
        async with httpx.AsyncClient(transport=transport, timeout=_ANSWER_S) as client:
            health = (await client.get(url)).json()
        if health["program"] != PROGRAM:
            return None
        stations = ", ".join(health["stations"])
        return f"another {PROGRAM} daemon (process {health['process']}, station {stations})"
    except (httpx.HTTPError, ValueError, KeyError, TypeError):
        return None


def _unusable(address: Address, err: OSError) -> ServerError:
    return ServerError(str(address), "", f"cannot listen here: {err.strerror}; {_ELSEWHERE}")


def _identity(path: Path) -> int:
    return path.stat().st_ino


def _remove(path: Path, ours: int) -> None:
    """Remove the socket file unless it was replaced by another's."""
    if path.exists() and _identity(path) == ours:
        path.unlink()
