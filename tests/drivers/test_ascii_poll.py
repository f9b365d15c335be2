from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from drivers.plausible import is_plausible
from scaled.core.reading import Reading, Unit
from scaled.protocol import Frame, Notice, NoticeKind, load_driver

DRIVER = load_driver("ascii-poll")


def frame(weight: float, decimals: int, unit: Unit, *, stable: bool = True) -> bytes:
    """Spelled out from the format's description, on its own."""
    number = f"{weight:.{decimals}f}".rjust(9)
    return f"W{'S' if stable else 'M'} {number} {unit.value.ljust(2)}\r\n".encode()


def decoded(data: bytes) -> list[Frame]:
    return DRIVER.decoder().feed(data, 2.5)


@given(st.integers(-99999, 99999), st.integers(0, 4), st.sampled_from(Unit), st.booleans())
def test_every_display_comes_back_exactly(
    counts: int, decimals: int, unit: Unit, stable: bool
) -> None:
    weight = counts / 10**decimals
    assume(is_plausible(weight, unit))
    assert decoded(frame(weight, decimals, unit, stable=stable)) == [
        Reading(2.5, weight, unit, stable)
    ]


@pytest.mark.parametrize(
    ("line", "weight", "unit"),
    [
        (b"WS    123.5 g\r\n", 123.5, Unit.G),
        (b"WS     123.5 g \r\n", 123.5, Unit.G),
        (b"WS 123.5 g\n", 123.5, Unit.G),
        (b" WS        0   KG\r", 0.0, Unit.KG),
        (b"WS     -4.50 oz\r\n", -4.5, Unit.OZ),
        (b"WS     0.2505 lb\r\n", 0.2505, Unit.LB),
    ],
)
def test_reads_what_real_scales_vary(line: bytes, weight: float, unit: Unit) -> None:
    assert decoded(line) == [Reading(2.5, weight, unit, stable=True)]


def test_minus_zero_is_zero() -> None:
    (zero,) = decoded(b"WM     -0.0 g\r\n")
    assert isinstance(zero, Reading)
    assert str(zero.weight) == "0.0"


@pytest.mark.parametrize(
    ("line", "kind"),
    [
        (b"WH\r\n", NoticeKind.OVERLOAD),
        (b"WL\r\n", NoticeKind.UNDERLOAD),
        (b"WL    -123.5 g\r\n", NoticeKind.UNDERLOAD),
    ],
)
def test_too_heavy_and_below_zero_are_notices(line: bytes, kind: NoticeKind) -> None:
    assert decoded(line) == [Notice(2.5, kind)]


@pytest.mark.parametrize(
    "line",
    [
        b"E1",
        b"R",
        b"W",
        b"WX    123.5 g",
        b"WS",
        b"WS    123.5",
        b"WS    g",
        b"WS123.5 g",
        b"WS    123.5g",
        b"WS    +123.5 g",
        b"WS    - 123.5 g",
        b"WS    12.3.5 g",
        b"WS    .5 g",
        b"WS    123. g",
        b"WS    1 23.5 g",
        b"WS    1234567890 g",
        b"WS    123.5 st",
        b"WS    123.5 g extra",
        b"ws    123.5 g",
        b"S    123.5 g",
        b"WS    12WS    123.5 g",
        b"WH WH",
        b"\x00WS    123.5 g",
        b"\xff\xfe\x80\x00\x7f",
        b"WS" + b" " * 60 + b"123.5 g",
    ],
)
def test_what_is_no_answer_is_counted_and_dropped(line: bytes) -> None:
    decoder = DRIVER.decoder()
    good = frame(7.0, 1, Unit.G)
    seven = Reading(0.0, 7.0, Unit.G, stable=True)
    assert decoder.feed(good + line + b"\r\n" + good, 0.0) == [seven, seven]
    assert decoder.dropped == 1


def test_asks_for_a_reading_ten_times_a_second() -> None:
    assert DRIVER.poll is not None
    assert DRIVER.poll.request == b"R\r\n"
    assert DRIVER.poll.interval_s == 0.1
