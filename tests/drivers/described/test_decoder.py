"""Ways to describe that no shipped format shows."""

from __future__ import annotations

import pytest

from drivers.described.decoder import decoder_maker
from drivers.described.file import parse_format
from scaled.core.reading import Reading, Unit
from scaled.protocol import Frame, Notice, NoticeKind

HEAD = 'schema = 1\nsummary = "a scale"\n'
WEIGHT = '[[field]]\nkind = "weight"\n'
TEXT = '[[field]]\nkind = "text"\ntext = "{}"\n'
SKIP = '[[field]]\nkind = "skip"\n'


def told(description: str, data: bytes) -> tuple[list[Frame], int]:
    decoder = decoder_maker(parse_format(HEAD + description, "text"))()
    return decoder.feed(data, 1.0), decoder.dropped


def reading(weight: float, unit: Unit | None = None, *, stable: bool | None = None) -> Reading:
    return Reading(1.0, weight, unit, stable)


@pytest.mark.parametrize(
    ("description", "data", "frames"),
    [
        (WEIGHT, b"123.5\r\n-4\n", [reading(123.5), reading(-4)]),
        (f"{WEIGHT}unit = 'g'", b"123.5\r", [reading(123.5, Unit.G)]),
        (f"{WEIGHT}decimal = 'none'\nplaces = 2\nunit = 'lb'", b"1235\n",
         [reading(12.35, Unit.LB)]),
        (f"{WEIGHT}width = 8\nalign = 'left'", b"-12.5   \n", [reading(-12.5)]),
        (f"{WEIGHT}sign = 'column'", b"-    12.5\n+1\n 7\n",
         [reading(-12.5), reading(1), reading(7)]),
        (f"{WEIGHT}sign = 'trailing'", b"12.5-\n12.5\n", [reading(-12.5), reading(12.5)]),
        (f"{WEIGHT}sign = 'none'", b"12.5\n", [reading(12.5)]),
        (f"{WEIGHT}words = {{ high = 'overload', low = 'underload', ERR = 'fault' }}",
         b"high\nlow\nERR\n",
         [Notice(1.0, kind) for kind in
          (NoticeKind.OVERLOAD, NoticeKind.UNDERLOAD, NoticeKind.FAULT)]),
        ("[[field]]\nkind = 'bits'\nbits = { 0 = 'fault' }\n" + WEIGHT, b"A\r\n@12\r\n",
         [Notice(1.0, NoticeKind.FAULT), reading(12)]),
        (SKIP + TEXT.format(",") + SKIP + TEXT.format(",") + WEIGHT, b"7, 12:30 ,  18.5\r\n",
         [reading(18.5)]),
        (f"{SKIP}width = 3\n{WEIGHT}", b"#1:18.5\n", [reading(18.5)]),
        (f"{WEIGHT}[[field]]\nkind = 'unit'\nwidth = 3\n"
         "words = { GRM = 'g', '   ' = 'none' }\n[frame]\nspaces = 'fixed'",
         b"18.5GRM\n18.6   \n", [reading(18.5, Unit.G), reading(18.6)]),
        (f"{TEXT.format('N')}[[field]]\nkind = 'status'\nwords = {{ '-' = 'negative', "
         f"'+' = 'ignored' }}\n{WEIGHT}sign = 'none'", b"N-5\nN+5\n", [reading(-5), reading(5)]),
        ("[frame]\nend = ';'\n" + WEIGHT, b"1.5;2.5;", [reading(1.5), reading(2.5)]),
        ("[frame]\nstart = '='\n" + WEIGHT, b"=1.5\r\n= 2.5\r\n", [reading(1.5), reading(2.5)]),
        ("[frame]\nstart = '$'\nend = '*'\n[frame.checksum]\nkind = 'sum'\nwritten = 'decimal'\n"
         f"digits = 3\nafter_end = true\nmodulo = 1000\n{WEIGHT}", b"$12*099$2*050",
         [reading(12), reading(2)]),
        (f"[frame.checksum]\nkind = 'sum'\nmodulo = 16\ndigits = 1\n{WEIGHT}", b"12A\r\n12a\r\n",
         []),
        (f"[frame.checksum]\nkind = 'sum'\nmodulo = 16\ndigits = 1\n{WEIGHT}", b"123\r\n",
         [reading(12)]),
    ],
)  # fmt: skip
def test_reads(description: str, data: bytes, frames: list[Frame]) -> None:
    read, dropped = told(description, data)
    assert read == frames
    assert bool(dropped) is not bool(frames)


@pytest.mark.parametrize(
    "data",
    [
        b"1.2.3\n",
        b"--5\n",
        b"5,5\n",
        b"5 g\n",
        b"+ 5\n",
        b"5.\n",
        b"123456789\n",
        b"x5\n",
        b"\xb55\n",
    ],
)
def test_what_is_not_described_is_counted(data: bytes) -> None:
    assert told(WEIGHT, data) == ([], 1)


FIXED = f"""
[frame]
spaces = "fixed"
{TEXT.format("[")}
[[field]]
kind = "status"
words = {{ S = "stable", H = "overload" }}
{WEIGHT}width = 6
{TEXT.format("]")}
"""
SUMMED = f'[frame]\nstart = "$"\n[frame.checksum]\nkind = "sum"\n{WEIGHT}'
MARKED = f'[frame]\nstart = "$"\nend = "*"\nlongest = 9\n{WEIGHT}'


@pytest.mark.parametrize(
    ("description", "data", "why"),
    [
        (FIXED, b"(S  12.5]\n", 'field 1, text, does not fit "(S  12.5]"'),
        (FIXED, b"[X  12.5]\n", 'field 2, status, does not fit "X  12.5]"'),
        (FIXED, b"[S 12.5]\n", 'field 3, weight, does not fit " 12.5]"'),
        (FIXED, b"[S  12.5 g]\n", 'field 4, text, does not fit " g]"'),
        (FIXED, b"[S  12.5]g\n", '"g" comes after the last field'),
        (FIXED, b"[S  12.5\n", "it ends before field 4, text"),
        (FIXED, b"[S  1..5]\n", 'field 3, weight: "  1..5" is no number as described'),
        (f"{WEIGHT}", b"12345678\n", "its fields do not go together"),
        (SUMMED, b"12\n", "it has no start"),
        (SUMMED, b"$12AA\n", 'its checksum is "AA", its bytes make "63"'),
        (SUMMED, b"$" + 70 * b"1" + b"\n", "it is longer than 64 bytes"),
        (SUMMED, b"x$1263\n", '"x": it lacks its start or its end, or is too long'),
        (MARKED, b"12*", '"12*": it lacks its start or its end, or is too long'),
        (MARKED, b"$1x2*", '"x2" comes after the last field'),
        (MARKED, b"$12*", ""),
    ],
)  # fmt: skip
def test_says_why_it_dropped_a_frame(description: str, data: bytes, why: str) -> None:
    decoder = decoder_maker(parse_format(HEAD + description, "text"))()
    assert decoder.refusal == ""
    decoder.feed(data, 1.0)
    assert bool(decoder.dropped) is bool(why)
    assert why in decoder.refusal
