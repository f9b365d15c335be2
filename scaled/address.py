"""Where a station listens: a Unix socket or a loopback port."""

from __future__ import annotations

import ipaddress
import os
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from scaled.core.errors import ConfigError

SOCKET_PATH_BYTES: Final = 107
"""Longest path of a Unix socket (unix(7): ``sun_path`` is 108 bytes with its end mark)."""

_CLOSED: Final = (
    "only this machine may be listened to (127.0.0.1, [::1] or unix:PATH): opening the network"
    " takes roles and tokens, which are not available yet"
)


@dataclass(frozen=True, slots=True)
class UnixAddress:
    """A socket file; who may open the file may use the station."""

    path: Path

    def __str__(self) -> str:
        return f"unix:{self.path}"


@dataclass(frozen=True, slots=True)
class TcpAddress:
    """A port on the machine's own loopback; port 0 lets the system choose."""

    host: str
    port: int

    def __str__(self) -> str:
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"{host}:{self.port}"


Address = UnixAddress | TcpAddress


def parse_address(text: str) -> Address:
    """Read ``unix:PATH`` or ``HOST:PORT`` with a loopback host.

    Raises:
        ConfigError: Neither of them, not loopback, or a socket path that is too long.
    """
    try:
        return read_address(text)
    except ValueError as err:
        raise ConfigError(text, "", str(err)) from err


def read_address(text: str) -> Address:
    """Read an address as :func:`parse_address` does, as a value of a configuration.

    Raises:
        ValueError: It is none, or not loopback, or a socket path that is too long.
    """
    if text.startswith("unix:"):
        return _unix_address(Path(text.removeprefix("unix:")).expanduser())
    host, _, port = text.rpartition(":")
    if not host or not port.isdecimal() or int(port) > 65535:
        raise ValueError("not an address; write unix:PATH or 127.0.0.1:PORT")
    host = host.removeprefix("[").removesuffix("]").replace("localhost", "127.0.0.1")
    try:
        loopback = ipaddress.ip_address(host).is_loopback
    except ValueError:
        loopback = False
    if not loopback:
        raise ValueError(_CLOSED)
    return TcpAddress(host, int(port))


def _unix_address(path: Path) -> UnixAddress:
    if not path.name:
        raise ValueError("no socket file is named; write unix:PATH")
    size = len(os.fsencode(path))
    if size > SOCKET_PATH_BYTES:
        raise ValueError(
            f"a socket path may have {SOCKET_PATH_BYTES} bytes at most, this one has {size};"
            " choose a shorter one with --listen"
        )
    return UnixAddress(path)
