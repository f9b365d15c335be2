"""The bus of our own, spoken to by a D-Bus library that is not."""

from __future__ import annotations

import asyncio
import socket
from contextlib import asynccontextmanager
from typing import TYPE_CHECKING, Any

import pytest
from dbus_fast import Message, MessageType, Variant
from dbus_fast.aio import MessageBus
from hypothesis import given
from hypothesis import strategies as st

from simulators.bus_message import (
    BusMessage,
    Kind,
    MessageError,
    read_message,
    size_of,
    text_body,
    write_message,
)
from simulators.private_bus import PrivateBus
from simulators.scale import PortError
from tests.air import until

if TYPE_CHECKING:
    from collections.abc import AsyncIterator
    from pathlib import Path

BUS = "org.freedesktop.DBus"


@pytest.fixture
async def bus(tmp_path: Path) -> AsyncIterator[PrivateBus]:
    async with PrivateBus(tmp_path / "bus") as running:
        yield running


@asynccontextmanager
async def client(bus: PrivateBus) -> AsyncIterator[MessageBus]:
    connected = await MessageBus(bus_address=bus.address).connect()
    yield connected
    connected.disconnect()
    await connected.wait_for_disconnect()  # type: ignore[no-untyped-call]


async def call(client: MessageBus, member: str, *args: str, to: str = BUS) -> Message:
    message = Message(
        destination=to, path="/a", interface=to, member=member, signature="s" * len(args)
    )
    message.body = list(args)
    reply = await client.call(message)
    assert reply is not None
    return reply


async def test_calls_and_replies_are_carried_with_all_they_hold(bus: PrivateBus) -> None:
    held: list[Any] = ["text", b"\0\xff", {"a": Variant("n", -7)}, [("x", 2.5)], 2**63]
    async with client(bus) as service, client(bus) as asking:
        service.add_message_handler(
            lambda asked: (
                Message.new_method_return(asked, asked.signature, asked.body)
                if asked.message_type is MessageType.METHOD_CALL
                else None
            )
        )
        await call(service, "RequestName", "org.example.Echo")
        message = Message(
            destination="org.example.Echo", path="/a/b", interface="org.example.I", member="Echo",
            signature="saya{sv}a(sd)t", body=held,
        )  # fmt: skip
        reply = await asking.call(message)
    assert reply is not None
    assert (reply.signature, reply.body) == ("saya{sv}a(sd)t", held)
    assert reply.sender == service.unique_name


async def test_names_are_owned_told_and_given_back(bus: PrivateBus) -> None:
    changes: list[list[str]] = []
    async with client(bus) as watching:
        watching.add_message_handler(
            lambda told: changes.append(told.body) if told.member == "NameOwnerChanged" else None
        )
        await call(watching, "AddMatch", f"type='signal',member='NameOwnerChanged',sender='{BUS}'")
        async with client(bus) as service:
            await call(service, "RequestName", "org.example.A")
            assert (await call(watching, "NameHasOwner", "org.example.A")).body == [True]
            owner = (await call(watching, "GetNameOwner", "org.example.A")).body[0]
            assert owner == service.unique_name
        await until(lambda: len(changes) == 2)
        assert (await call(watching, "NameHasOwner", "org.example.A")).body == [False]
        reply = await call(watching, "GetNameOwner", "org.example.A")
        assert reply.error_name == f"{BUS}.Error.NameHasNoOwner"
    assert changes == [["org.example.A", "", owner], ["org.example.A", owner, ""]]


async def test_what_nobody_can_answer_is_refused(bus: PrivateBus) -> None:
    async with client(bus) as asking:
        reply = await call(asking, "Anything", to="org.example.Nobody")
        assert reply.error_name == f"{BUS}.Error.ServiceUnknown"
        reply = await call(asking, "Dance")
        assert (reply.message_type, reply.error_name) == (
            MessageType.ERROR,
            f"{BUS}.Error.UnknownMethod",
        )


@pytest.mark.parametrize(
    ("rule", "heard"),
    [
        ("type='signal'", ["Added /", "Changed /x/dev/1", "Changed /xy"]),
        ("type='signal',member='Added'", ["Added /"]),
        ("path_namespace='/x'", ["Changed /x/dev/1"]),
        ("path='/xy'", ["Changed /xy"]),
        ("interface='org.example.Other'", []),
        ("arg0path='/x/'", ["Added /"]),
        ("arg0path='/x/dev/1'", ["Added /"]),
        ("arg0='/x/dev/1'", ["Added /"]),
        ("arg0path='/y/'", []),
    ],
)
async def test_signals_go_to_those_who_asked_for_such(
    bus: PrivateBus, rule: str, heard: list[str]
) -> None:
    told: list[str] = []
    signals = [
        Message.new_signal("/", "org.example.I", "Added", "o", ["/x/dev/1"]),
        Message.new_signal("/x/dev/1", "org.example.I", "Changed", "u", [1]),
        Message.new_signal("/xy", "org.example.I", "Changed", "u", [1]),
    ]
    async with client(bus) as speaking, client(bus) as listening:
        listening.add_message_handler(
            lambda message: (
                told.append(f"{message.member} {message.path}")
                if message.message_type is MessageType.SIGNAL
                else None
            )
        )
        await call(listening, "AddMatch", rule)
        for signal in signals:
            await speaking.send(signal)
        await call(speaking, "NameHasOwner", "org.example.A")
        await call(listening, "NameHasOwner", "org.example.A")
        assert told == heard
        await call(listening, "RemoveMatch", rule)
        await speaking.send(Message.new_signal("/x", "org.example.I", "Added", "o", ["/x/dev/1"]))
        await call(speaking, "NameHasOwner", "org.example.A")
        await call(listening, "NameHasOwner", "org.example.A")
    assert told == heard


async def test_who_speaks_something_else_is_let_go(bus: PrivateBus) -> None:
    path = bus.address.removeprefix("unix:path=")
    async with client(bus) as other:
        for words in (b"\0HELLO\r\n", b"\0AUTH EXTERNAL\r\nBEGIN\r\n" + b"B" * 16, b"\0" * 70000):
            reader, writer = await asyncio.open_unix_connection(path)
            writer.write(words)
            writer.write_eof()
            async with asyncio.timeout(60):
                await reader.read()
            writer.close()
        assert (await call(other, "NameHasOwner", "org.example.A")).body == [False]


async def test_a_socket_in_use_is_left_alone_and_a_dead_one_replaced(
    bus: PrivateBus, tmp_path: Path
) -> None:
    assert bus
    with pytest.raises(PortError, match="in use; stop what uses it, or choose another path"):
        await PrivateBus(tmp_path / "bus").__aenter__()
    with socket.socket(socket.AF_UNIX) as dead:
        dead.bind(str(tmp_path / "dead"))
    async with PrivateBus(tmp_path / "dead") as second, client(second) as asking:
        assert asking.unique_name
    with pytest.raises(PortError, match="No such file or directory"):
        await PrivateBus(tmp_path / "none" / "bus").__aenter__()


TEXTS = st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=30)
MESSAGES = st.builds(
    BusMessage,
    kind=st.sampled_from(Kind), serial=st.integers(1, 2**32 - 1), path=TEXTS, interface=TEXTS,
    member=TEXTS, error=TEXTS, reply_to=st.integers(0, 2**32 - 1), destination=TEXTS,
    signature=st.text("sauy(){}", max_size=9), body=st.binary(max_size=50), silent=st.booleans(),
)  # fmt: skip


@given(MESSAGES)
def test_a_message_is_read_as_it_was_written(message: BusMessage) -> None:
    data = write_message(message)
    assert size_of(data[:16]) == len(data)
    assert read_message(data) == message


@given(TEXTS, st.lists(TEXTS, max_size=3))
def test_the_first_text_of_a_body_is_found(first: str, others: list[str]) -> None:
    message = BusMessage(
        kind=Kind.SIGNAL, signature="s" * (1 + len(others)), body=text_body(first, *others)
    )
    assert message.first_text == first
    assert BusMessage(kind=Kind.SIGNAL, signature="u", body=message.body).first_text == ""


@given(MESSAGES, st.integers(0, 200), st.binary(min_size=1, max_size=4))
def test_a_damaged_message_is_refused_or_read(message: BusMessage, at: int, noise: bytes) -> None:
    data = write_message(message)
    spoilt = data[:at] + noise + data[at + len(noise) :]
    try:
        size_of(spoilt[:16])
        read_message(spoilt)
    except MessageError:
        return
