"""Messages of the D-Bus wire protocol, as far as a bus must read them to pass them on.

A message is a header of 16 bytes, an array of header fields, padding to 8 bytes, and a body that a
bus carries unread (D-Bus Specification, Message Protocol). Only little-endian ones are spoken.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass, field
from enum import IntEnum
from typing import Final

HEAD_BYTES: Final = 16
"""Bytes that tell how long a message is."""

_LONGEST: Final = 1 << 20
"""Bytes; a simulated radio's messages are far shorter, the protocol's own limit is 2**27."""

_PATH, _INTERFACE, _MEMBER, _ERROR, _REPLY_TO, _DESTINATION, _SENDER, _SIGNATURE = range(1, 9)
_TYPES: Final = {
    _PATH: "o", _INTERFACE: "s", _MEMBER: "s", _ERROR: "s",
    _REPLY_TO: "u", _DESTINATION: "s", _SENDER: "s", _SIGNATURE: "g",
}  # fmt: skip
_FDS: Final = 9
"""How many descriptors come along: always none here, so the field is left out again."""


class MessageError(ValueError):
    """Bytes that are no message, or one that a bus of ours cannot carry."""


class Kind(IntEnum):
    """What a message is."""

    CALL = 1
    REPLY = 2
    ERROR = 3
    SIGNAL = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class BusMessage:
    """One message; texts that are not there are "".

    Attributes:
        kind: What it is.
        serial: Its sender's number for it.
        path: The object it is about.
        interface: The interface it is about.
        member: The method called, or the signal's name.
        error: The error's name.
        reply_to: The serial of the call that it answers, or 0.
        destination: Who is to have it; "" for a signal to all who asked for such.
        sender: Who sent it; a bus writes this itself.
        signature: The types in the body.
        body: The arguments, as they came.
        silent: No reply is wanted.
    """

    kind: Kind
    serial: int = 0
    path: str = ""
    interface: str = ""
    member: str = ""
    error: str = ""
    reply_to: int = 0
    destination: str = ""
    sender: str = ""
    signature: str = ""
    body: bytes = field(default=b"", repr=False)
    silent: bool = False

    @property
    def first_text(self) -> str:
        """The first argument, when that is a text or a path; "" otherwise."""
        return _text(self.body, 0) if self.signature[:1] in {"s", "o"} else ""


def size_of(head: bytes) -> int:
    """Bytes in the whole message that begins with these 16.

    Raises:
        MessageError: It is no message, or too long a one.
    """
    if head[:1] != b"l" or head[3] != 1 or not Kind.CALL <= head[1] <= Kind.SIGNAL:
        raise MessageError("not a little-endian message of protocol version 1")
    body, fields = struct.unpack_from("<I4xI", head, 4)
    size: int = HEAD_BYTES + _aligned(fields, 8) + body
    if size > _LONGEST:
        raise MessageError(f"a message of {size} bytes")
    return size


def read_message(data: bytes) -> BusMessage:
    """The message in these bytes, all of it and nothing more.

    Raises:
        MessageError: Its header makes no sense.
    """
    try:
        return _read(data)
    except (struct.error, UnicodeDecodeError, IndexError) as err:
        raise MessageError("a header that makes no sense") from err


def write_message(message: BusMessage) -> bytes:
    """The bytes of a message."""
    fields = bytearray()
    for code, value in (
        (_PATH, message.path),
        (_INTERFACE, message.interface),
        (_MEMBER, message.member),
        (_ERROR, message.error),
        (_REPLY_TO, message.reply_to),
        (_DESTINATION, message.destination),
        (_SENDER, message.sender),
        (_SIGNATURE, message.signature),
    ):
        if value:
            fields += bytes(-len(fields) % 8)
            fields += bytes((code, 1)) + _TYPES[code].encode() + b"\0"
            fields += _written(value, _TYPES[code])
    head = struct.pack(
        "<cBBBIII", b"l", message.kind, message.silent, 1,
        len(message.body), message.serial, len(fields),
    )  # fmt: skip
    return head + fields + bytes(-len(fields) % 8) + message.body


def text_body(*texts: str) -> bytes:
    """The body of a message whose arguments are texts: signature ``s`` for each."""
    body = bytearray()
    for text in texts:
        body += bytes(-len(body) % 4) + _written(text, "s")
    return bytes(body)


def _read(data: bytes) -> BusMessage:
    kind, flags, body_size, serial, fields_size = struct.unpack_from("<xBBxIII", data)
    found: dict[int, str | int] = {}
    at, end = HEAD_BYTES, HEAD_BYTES + fields_size
    while at < end:
        at = _aligned(at, 8)
        code, kind_of_value = data[at], chr(data[at + 2])
        if code != _FDS and _TYPES.get(code) != kind_of_value:
            raise MessageError(f"header field {code} of type {kind_of_value}")
        found[code], at = _value(data, at + 4, kind_of_value)

    def text(code: int) -> str:
        return str(found.get(code, ""))

    return BusMessage(
        kind=Kind(kind),
        serial=serial,
        path=text(_PATH),
        interface=text(_INTERFACE),
        member=text(_MEMBER),
        error=text(_ERROR),
        reply_to=int(found.get(_REPLY_TO, 0)),
        destination=text(_DESTINATION),
        signature=text(_SIGNATURE),
        body=data[len(data) - body_size :],
        silent=bool(flags & 1),
    )


def _value(data: bytes, at: int, kind: str) -> tuple[str | int, int]:
    """A header field's value and where it ends."""
    if kind == "u":
        (number,) = struct.unpack_from("<I", data, at)
        return int(number), at + 4
    if kind == "g":
        size = data[at]
        return data[at + 1 : at + 1 + size].decode("ascii"), at + size + 2
    text = _text(data, at)
    return text, at + 4 + len(text.encode()) + 1


def _text(data: bytes, at: int) -> str:
    (size,) = struct.unpack_from("<I", data, at)
    return data[at + 4 : at + 4 + size].decode()


def _written(value: str | int, kind: str) -> bytes:
    if isinstance(value, int):
        return struct.pack("<I", value)
    size = "<B" if kind == "g" else "<I"
    return struct.pack(size, len(value.encode())) + value.encode() + b"\0"


def _aligned(at: int, to: int) -> int:
    return at + -at % to
