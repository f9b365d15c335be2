"""Exact bytes of the formats that differ only in how a reading is written."""

from __future__ import annotations

from decimal import Decimal

import pytest

from simulators.display import Shown, Span
from simulators.hid_weighing import hid_report
from simulators.sending import Asked
from simulators.wire import WIRES, Wire

STEADY = Shown(0.0, Decimal("123.5"), "g", stable=True)
MOVING = Shown(0.0, Decimal("-4.50"), "oz", stable=False, net=True)
OVER = Shown(0.0, Decimal(16000), "g", stable=False, span=Span.ABOVE)
UNDER = Shown(0.0, Decimal(-40), "g", stable=True, span=Span.BELOW)
TOO_WIDE = Shown(0.0, Decimal("12345678.9"), "g", stable=True)


def sent(wire: Wire, shown: Shown) -> bytes:
    return wire.show(shown) + wire.answer(b"\x05")


@pytest.mark.parametrize(
    ("name", "shown", "data"),
    [
        ("comma-words", STEADY, b"123.5,g,steady,gross\r\n"),
        ("comma-words", MOVING, b"-4.50,oz,moving,net\r\n"),
        ("comma-words", OVER, b"---,g,over,gross\r\n"),
        ("comma-words", UNDER, b"---,g,under,gross\r\n"),
        ("decimal-comma", STEADY, b"B +   123,5 g  *\r"),
        ("decimal-comma", MOVING, b"N -    4,50 oz ~\r"),
        ("decimal-comma", OVER, b"B +######## g  ~\r"),
        ("decimal-comma", UNDER, b"B -________ g  *\r"),
        ("decimal-comma", TOO_WIDE, b"B +######## g  *\r"),
        ("enquiry-bcc", STEADY, b"\x020 000123.5 g\x03O"),
        ("enquiry-bcc", MOVING, b"\x021-00004.50oz\x03\x15"),
        ("enquiry-bcc", OVER, b"\x022\x031"),
        ("enquiry-bcc", UNDER, b"\x023\x030"),
        ("enquiry-bcc", TOO_WIDE, b"\x022\x031"),
        ("implied-decimals", STEADY, b"+00012351GS3B\r"),
        ("implied-decimals", MOVING, b"-00004502OD25\r"),
        ("implied-decimals", OVER, b"+00000000GH24\r"),
        ("implied-decimals", UNDER, b"-00000000GB28\r"),
        ("implied-decimals", TOO_WIDE, b"+00000000GH24\r"),
        ("status-bits", STEADY, b"\x02\x20000123.5g \xce"),
        ("status-bits", MOVING, b"\x02\x3c00004.50oz\x52"),
        ("status-bits", OVER, b"\x02\x2500000000g \xd2"),
        ("status-bits", UNDER, b"\x02\x3200000000g \xc5"),
        ("status-bits", TOO_WIDE, b"\x02\x2100000000g \xd6"),
        ("stx-fixed", STEADY, b"\x02SG   123.5g \x03"),
        ("stx-fixed", MOVING, b"\x02MN   -4.50oz\x03"),
        ("stx-fixed", OVER, b"\x02OG--------g \x03"),
        ("stx-fixed", UNDER, b"\x02UG--------g \x03"),
        ("stx-fixed", TOO_WIDE, b"\x02OG--------g \x03"),
        ("trailing-sign", STEADY, b"    123.5   g .\n"),
        ("trailing-sign", MOVING, b"     4.50- oz ?\n"),
        ("trailing-sign", OVER, b"        0   g ^\n"),
        ("trailing-sign", UNDER, b"        0-  g _\n"),
        ("trailing-sign", TOO_WIDE, b"        0   g ^\n"),
    ],
)
def test_writes_exactly_these_bytes(name: str, shown: Shown, data: bytes) -> None:
    assert sent(WIRES[name](), shown) == data


@pytest.mark.parametrize(
    ("shown", "data"),
    [
        (STEADY, "03 04 02 FF D3 04"),
        (MOVING, "03 05 0B FE C2 01"),
        (OVER, "03 06 02 00 00 00"),
        (TOO_WIDE, "03 06 02 FF 00 00"),
        (Shown(0.0, Decimal(0), "kg", stable=True), "03 02 03 00 00 00"),
        (Shown(0.0, Decimal(7), "lb", stable=False), "03 03 0C 00 07 00"),
    ],
)
def test_writes_exactly_these_reports(shown: Shown, data: str) -> None:
    assert hid_report(shown) == bytes.fromhex(data)


def test_one_that_is_asked_answers_each_request_with_the_newest() -> None:
    wire = Asked(b"?", lambda shown: f"{shown.weight};".encode())
    assert wire.answer(b"?") == b""
    assert wire.show(STEADY) == b""
    assert wire.show(MOVING) == b""
    assert wire.answer(b"x??\r\n") == b"-4.50;-4.50;"
