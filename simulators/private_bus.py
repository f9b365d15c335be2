"""A D-Bus message bus of our own, on a socket of our own: no daemon, no system bus.

It knows what a service and its clients need of one (D-Bus Specification, Message Bus): sign-in,
``Hello``, names and who owns them, match rules, and carrying messages. Each connection's messages
arrive in the order they were sent. No policies, no service activation, no descriptors.
"""

from __future__ import annotations

import asyncio
import os
import re
import socket
import struct
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final, Self

from simulators.bus_message import (
    HEAD_BYTES,
    BusMessage,
    Kind,
    MessageError,
    read_message,
    size_of,
    text_body,
    write_message,
)
from simulators.scale import PortError

if TYPE_CHECKING:
    from pathlib import Path
    from types import TracebackType

BUS_NAME: Final = "org.freedesktop.DBus"
_BUS_PATH: Final = "/org/freedesktop/DBus"
_GUID: Final = "0" * 32
_RULE: Final = re.compile(r"(\w+)='([^']*)'")
_OWNER: Final = 1
"""RequestName's and ReleaseName's word for done."""


class PrivateBus:
    """The bus; there while its ``async with`` block runs.

    Attributes:
        address: Where it is reached, as D-Bus writes addresses.
    """

    def __init__(self, path: Path) -> None:
        """Nothing is there yet; its socket will be at ``path``, which must be short."""
        self.address = f"unix:path={path}"
        self._path = path
        self._server: asyncio.Server | None = None
        self._clients: dict[str, _Client] = {}
        self._owners: dict[str, _Client] = {}
        self._count = 0

    async def __aenter__(self) -> Self:
        """Begin to listen; raises PortError when the socket cannot be made."""
        try:
            await asyncio.to_thread(_make_way, self._path)
            self._server = await asyncio.start_unix_server(self._serve, self._path)
        except OSError as err:
            raise PortError(os.strerror(err.errno or 0)) from err
        return self

    async def __aexit__(
        self,
        kind: type[BaseException] | None,
        err: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Hang up on everybody."""
        server, self._server = self._server, None
        if server is not None:
            server.close()
            for client in list(self._clients.values()):
                client.writer.close()
            await server.wait_closed()
        await asyncio.to_thread(self._path.unlink, missing_ok=True)
        while self._clients:  # noqa: ASYNC110 -- each ends at once, in a task that asyncio owns
            await asyncio.sleep(0)

    async def _serve(self, reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        self._count += 1
        client = _Client(f":1.{self._count}", writer)
        self._clients[client.name] = client
        with suppress(MessageError, EOFError, asyncio.LimitOverrunError, ConnectionError):
            await _sign_in(reader, writer)
            while True:
                head = await reader.readexactly(HEAD_BYTES)
                rest = await reader.readexactly(size_of(head) - HEAD_BYTES)
                self._carry(client, replace(read_message(head + rest), sender=client.name))
        del self._clients[client.name]
        for name in [name for name, owner in self._owners.items() if owner is client]:
            self._set_owner(name, None)
        writer.close()

    def _carry(self, client: _Client, message: BusMessage) -> None:
        if message.destination == BUS_NAME:
            if message.kind is Kind.CALL:
                self._answer(client, message)
        elif message.kind is Kind.SIGNAL and not message.destination:
            self._publish(message)
        elif receiver := self._find(message.destination):
            receiver.send(message)
        elif message.kind is Kind.CALL:
            name = message.destination
            text = f"The name {name} was not provided by any .service files"
            client.send(_refusal(message, "ServiceUnknown", text))

    def _publish(self, signal: BusMessage) -> None:
        for client in self._clients.values():
            if client.wants(signal):
                client.send(signal)

    def _find(self, name: str) -> _Client | None:
        return self._clients.get(name) or self._owners.get(name)

    def _answer(self, client: _Client, call: BusMessage) -> None:
        """Do what a client asks of the bus itself."""
        name = call.first_text
        match call.member:
            case "Hello":
                client.answer(call, "s", text_body(client.name))
            case "AddMatch":
                client.rules.append(dict(_RULE.findall(name)))
                client.answer(call)
            case "RemoveMatch":
                with suppress(ValueError):
                    client.rules.remove(dict(_RULE.findall(name)))
                client.answer(call)
            case "RequestName" | "ReleaseName":
                self._set_owner(name, client if call.member == "RequestName" else None)
                client.answer(call, "u", struct.pack("<I", _OWNER))
            case "NameHasOwner":
                client.answer(call, "b", struct.pack("<I", self._find(name) is not None))
            case "GetNameOwner" if owner := self._find(name):
                client.answer(call, "s", text_body(owner.name))
            case "GetNameOwner":
                client.send(_refusal(call, "NameHasNoOwner", f"nobody owns {name}"))
            case _:
                client.send(_refusal(call, "UnknownMethod", f"no method {call.member}"))

    def _set_owner(self, name: str, owner: _Client | None) -> None:
        before = self._owners.pop(name, None)
        if owner is not None:
            self._owners[name] = owner
        names = (name, before.name if before else "", owner.name if owner else "")
        self._publish(
            BusMessage(
                kind=Kind.SIGNAL,
                serial=1,
                path=_BUS_PATH,
                interface=BUS_NAME,
                member="NameOwnerChanged",
                sender=BUS_NAME,
                signature="sss",
                body=text_body(*names),
            )
        )


@dataclass(frozen=True, slots=True, eq=False)
class _Client:
    """One connection: its unique name, and the rules for signals it wants."""

    name: str
    writer: asyncio.StreamWriter
    rules: list[dict[str, str]] = field(default_factory=list)

    def wants(self, signal: BusMessage) -> bool:
        return any(_fits(rule, signal) for rule in self.rules)

    def send(self, message: BusMessage) -> None:
        if not self.writer.is_closing():
            self.writer.write(write_message(message))

    def answer(self, call: BusMessage, signature: str = "", body: bytes = b"") -> None:
        if not call.silent:
            self.send(replace(_reply(call, Kind.REPLY), signature=signature, body=body))


def _reply(call: BusMessage, kind: Kind) -> BusMessage:
    return BusMessage(
        kind=kind, serial=1, reply_to=call.serial, destination=call.sender, sender=BUS_NAME
    )


def _refusal(call: BusMessage, error: str, text: str) -> BusMessage:
    refusal = _reply(call, Kind.ERROR)
    return replace(refusal, error=f"{BUS_NAME}.Error.{error}", signature="s", body=text_body(text))


def _fits(rule: dict[str, str], signal: BusMessage) -> bool:
    return all(_holds(key, value, signal) for key, value in rule.items())


def _holds(key: str, value: str, signal: BusMessage) -> bool:
    match key:
        case "interface" | "member" | "path":
            return bool(getattr(signal, key) == value)
        case "path_namespace":
            return signal.path == value or signal.path.startswith(f"{value}/")
        case "arg0":
            return signal.first_text == value
        case "arg0path":
            path = signal.first_text
            below = value.endswith("/") and path.startswith(value)
            return below or path == value or (path.endswith("/") and value.startswith(path))
        case _:
            return True  # type and sender: all are signals, and of one service


def _make_way(path: Path) -> None:
    """Remove a socket that was left behind; raises PortError when somebody listens there."""
    if not path.is_socket():
        return
    with socket.socket(socket.AF_UNIX) as asking:
        try:
            asking.connect(str(path))
        except ConnectionRefusedError:
            path.unlink()
        else:
            raise PortError("in use; stop what uses it, or choose another path")


async def _sign_in(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
    """Let in whoever could open the socket (SASL EXTERNAL)."""
    await reader.readexactly(1)
    while (line := await reader.readuntil(b"\r\n")) != b"BEGIN\r\n":
        if line.startswith(b"AUTH EXTERNAL"):
            writer.write(f"OK {_GUID}\r\n".encode())
        elif line.startswith(b"NEGOTIATE_UNIX_FD"):
            writer.write(b"AGREE_UNIX_FD\r\n")
        else:
            writer.write(b"REJECTED EXTERNAL\r\n")
