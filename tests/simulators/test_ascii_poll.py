from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core.reading import Reading, Unit
from scaled.protocol import load_driver
from simulators.ascii_poll import AsciiPoll
from simulators.display import Shown, Span

DRIVER = load_driver("ascii-poll")


def answer(
    weight: str,
    unit: str = "g",
    *,
    stable: bool | None = True,
    span: Span = Span.WITHIN,
) -> bytes:
    scale = AsciiPoll()
    unasked = scale.show(Shown(t=1.0, weight=Decimal(weight), unit=unit, stable=stable, span=span))
    assert unasked == b""
    return scale.answer(b"R\r\n")


@pytest.mark.parametrize(
    ("sent", "expected"),
    [
        (answer("123.5"), b"WS     123.5 g\r\n"),
        (answer("124"), b"WS       124 g\r\n"),
        (answer("-4", stable=False), b"WM        -4 g\r\n"),
        (answer("0.05", "oz", stable=None), b"WM      0.05 oz\r\n"),
        (answer("1.234", "kg"), b"WS     1.234 kg\r\n"),
        (answer("15010", span=Span.ABOVE), b"WH\r\n"),
        (answer("-30", span=Span.BELOW), b"WL       -30 g\r\n"),
        (answer("-15000.001"), b"WH\r\n"),
    ],
)
def test_answers_exactly_these_bytes(sent: bytes, expected: bytes) -> None:
    assert sent == expected


@given(st.decimals(-999, 999, places=2), st.sampled_from(["g", "kg", "oz", "lb"]))
def test_the_stations_driver_reads_it(weight: Decimal, unit: str) -> None:
    (read,) = DRIVER.decoder().feed(answer(str(weight), unit), t=2.0)
    assert read == Reading(2.0, float(weight), Unit(unit), stable=True)


def test_the_stations_driver_asks_what_the_scale_knows() -> None:
    assert DRIVER.poll is not None
    scale = AsciiPoll()
    scale.show(Shown(t=1.0, weight=Decimal(7), unit="g"))
    assert scale.answer(DRIVER.poll.request).startswith(b"WM")


def test_answers_with_the_newest_reading() -> None:
    scale = AsciiPoll()
    assert scale.answer(b"R\r\n") == b""
    for weight in (1, 2):
        scale.show(Shown(t=1.0, weight=Decimal(weight), unit="g"))
    assert scale.answer(b"R\r\nR\r\n") == b"WM         2 g\r\n" * 2


@pytest.mark.parametrize("request_line", [b"r", b"", b"RR", b" R", b"\x00\xff", b"R\n"])
def test_answers_unknown_requests_with_an_error(request_line: bytes) -> None:
    assert AsciiPoll().answer(request_line + b"\r\n") == b"E1\r\n"


@given(st.binary(max_size=60), st.integers(0, 63))
def test_how_requests_are_cut_changes_nothing(noise: bytes, cut: int) -> None:
    data = noise + b"\r\nR\r\n"
    whole, parts = AsciiPoll(), AsciiPoll()
    for scale in (whole, parts):
        scale.show(Shown(t=1.0, weight=Decimal(7), unit="g"))
    assert whole.answer(data) == parts.answer(data[:cut]) + parts.answer(data[cut:])


def test_forgets_a_request_without_end() -> None:
    scale = AsciiPoll()
    sent = b"".join(scale.answer(b"x" * 10) for _ in range(100))
    assert set(sent.split(b"\r\n")) == {b"E1", b""}
    scale.show(Shown(t=1.0, weight=Decimal(7), unit="g"))
    assert scale.answer(b"\r\nR\r\n").endswith(b"WM         7 g\r\n")
