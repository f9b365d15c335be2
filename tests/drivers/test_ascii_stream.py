from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from drivers.plausible import is_plausible
from scaled.core.reading import Reading, Unit
from scaled.protocol import Frame, Notice, NoticeKind, load_driver

DRIVER = load_driver("ascii-stream")


def frame(weight: float, decimals: int, unit: Unit, *, stable: bool = True) -> bytes:
    """Spelled out from the format's description, on its own."""
    status, sign = "ST" if stable else "US", "-" if weight < 0 else "+"
    number = f"{abs(weight):.{decimals}f}".rjust(8, "0")
    return f"{status},GR,{sign}{number} {unit.value.rjust(2)}\r\n".encode()


def decoded(data: bytes) -> list[Frame]:
    return DRIVER.decoder().feed(data, 2.5)


@given(st.integers(-9999, 9999), st.integers(0, 3), st.sampled_from(Unit), st.booleans())
def test_every_display_comes_back_exactly(
    counts: int, decimals: int, unit: Unit, stable: bool
) -> None:
    weight = counts / 10**decimals
    assume(is_plausible(weight, unit))
    assert decoded(frame(weight, decimals, unit, stable=stable)) == [
        Reading(2.5, weight, unit, stable)
    ]


@given(st.integers(-9999, 9999), st.integers(0, 3), st.sampled_from(Unit))
def test_a_missing_byte_never_changes_the_weight(counts: int, decimals: int, unit: Unit) -> None:
    whole = frame(counts / 10**decimals, decimals, unit)
    for lost in range(len(whole)):
        left = whole[:lost] + whole[lost + 1 :]
        assert decoded(left) in ([], decoded(whole))


@pytest.mark.parametrize(
    ("line", "weight", "unit"),
    [
        (b"ST,GR,+00123.50  g\r\n", 123.5, Unit.G),
        (b"ST,GR,+00123.50  g\n", 123.5, Unit.G),
        (b"ST,GR,+00123.50  g\r", 123.5, Unit.G),
        (b"  ST , NT , +00123.50   G  \r\n", 123.5, Unit.G),
        (b"ST,GR,+  123.50  g\r\n", 123.5, Unit.G),
        (b"ST,GR,+00000123  g\r\n", 123.0, Unit.G),
        (b"ST,GR,+0000123.  g\r\n", 123.0, Unit.G),
        (b"ST,GR,-0000.455 KG\r\n", -0.455, Unit.KG),
        (b"ST,GR,+00004.50 oz\r\n", 4.5, Unit.OZ),
        (b"ST,GR,+000.2505 lb\r\n", 0.2505, Unit.LB),
    ],
)
def test_reads_what_real_scales_vary(line: bytes, weight: float, unit: Unit) -> None:
    assert decoded(line) == [Reading(2.5, weight, unit, stable=True)]


def test_minus_zero_is_zero() -> None:
    (zero,) = decoded(b"ST,GR,-00000.00  g\r\n")
    assert isinstance(zero, Reading)
    assert str(zero.weight) == "0.0"


@pytest.mark.parametrize(
    ("line", "kind"),
    [
        (b"OL,GR,+--------  g\r\n", NoticeKind.OVERLOAD),
        (b"OL,NT,---------  g\r\n", NoticeKind.OVERLOAD),
        (b"OL,GR,-------- kg\r\n", NoticeKind.OVERLOAD),
        (b"UL,GR,---------  g\r\n", NoticeKind.UNDERLOAD),
    ],
)
def test_overload_and_underload_are_notices(line: bytes, kind: NoticeKind) -> None:
    assert decoded(line) == [Notice(2.5, kind)]


@pytest.mark.parametrize(
    "line",
    [
        b"XX,GR,+00123.50  g",
        b"ST,XX,+00123.50  g",
        b"ST,GR,00123.50  g",
        b"ST,GR,+0123.50  g",
        b"ST,GR,+000123.50  g",
        b"ST,GR,+00123.50   ",
        b"ST,GR,+00123.50 st",
        b"ST,GR,+001 3.50  g",
        b"ST,GR,+0.123.50  g",
        b"ST,GR,+--------  g",
        b"OL,GR,+00123.50  g",
        b"OL,GR,+-------  g",
        b"ST,GR,+00123,50  g",
        b"ST,GR,+0012",
        b"23.50  g",
        b"\x00ST,GR,+00123.50  g",
        b"ST,GR,+00123.50  g\x00",
        b"ST,GR,+0012ST,GR,+00123.50  g",
        b"st,gr,+00123.50  g",
        b"\xff\xfe\x80\x00\x7f",
        b"ST,GR,+00123.50" + b" " * 60 + b"g",
    ],
)
def test_what_is_no_frame_is_counted_and_dropped(line: bytes) -> None:
    decoder = DRIVER.decoder()
    good = frame(7.0, 1, Unit.G)
    assert decoder.feed(good + line + b"\r\n" + good, 0.0) == decoded_twice(good)
    assert decoder.dropped == 1


def decoded_twice(good: bytes) -> list[Frame]:
    return DRIVER.decoder().feed(good + good, 0.0)
