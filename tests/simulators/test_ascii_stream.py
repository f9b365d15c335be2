from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core.reading import Reading, Unit
from scaled.protocol import load_driver
from simulators.ascii_stream import AsciiStream
from simulators.display import Shown, Span

DRIVER = load_driver("ascii-stream")


def line(
    weight: str,
    unit: str = "g",
    *,
    stable: bool | None = True,
    net: bool = False,
    span: Span = Span.WITHIN,
) -> bytes:
    shown = Shown(t=1.0, weight=Decimal(weight), unit=unit, stable=stable, net=net, span=span)
    return AsciiStream().show(shown)


@pytest.mark.parametrize(
    ("sent", "expected"),
    [
        (line("123.50"), b"ST,GR,+00123.50  g\r\n"),
        (line("-4", stable=False), b"US,GR,-000004.0  g\r\n"),
        (line("0"), b"ST,GR,+000000.0  g\r\n"),
        (line("0.05", "oz", net=True), b"ST,NT,+00000.05 oz\r\n"),
        (line("1.234", "kg", stable=None), b"US,GR,+0001.234 kg\r\n"),
        (line("0.005", "lb"), b"ST,GR,+0000.005 lb\r\n"),
        (line("15010", span=Span.ABOVE), b"OL,GR,+--------  g\r\n"),
        (line("-30", span=Span.BELOW), b"UL,GR,---------  g\r\n"),
        (line("15000.001"), b"OL,GR,+--------  g\r\n"),
    ],
)
def test_writes_exactly_these_bytes(sent: bytes, expected: bytes) -> None:
    assert sent == expected


@given(st.decimals(-9999, 9999, places=2))
def test_every_line_is_as_long_and_reads_back(weight: Decimal) -> None:
    sent = line(str(weight))
    assert len(sent) == len(b"ST,GR,+00123.50  g\r\n")
    assert Decimal(sent[6:15].decode()) == weight


@given(st.decimals(-999, 999, places=2), st.sampled_from(["g", "kg", "oz", "lb"]))
def test_the_stations_driver_reads_it(weight: Decimal, unit: str) -> None:
    (read,) = DRIVER.decoder().feed(line(str(weight), unit), t=2.0)
    assert read == Reading(2.0, float(weight), Unit(unit), stable=True)


def test_does_not_listen() -> None:
    assert AsciiStream().answer(b"R\r\n") == b""
