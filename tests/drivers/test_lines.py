"""What every line format owes: no bytes hurt it, and how they are cut makes no difference."""

from __future__ import annotations

import tracemalloc

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drivers import ascii_poll, ascii_stream
from drivers.lines import LONGEST_LINE
from scaled.core.reading import Reading
from scaled.protocol import Driver, Frame

GOOD = {
    ascii_stream.DRIVER: b"US,NT,-00012.25 oz\r\n",
    ascii_poll.DRIVER: b"WM    -12.25 oz\r\n",
}
formats = st.sampled_from(list(GOOD))

# Bytes that the formats are made of come up often enough to make lines nearly right.
noise = st.binary(max_size=30) | st.text("STUSGRWMHLE1,+-0. kgozlb\r\n\0", max_size=100).map(
    str.encode
)


def fed(driver: Driver, pieces: list[bytes]) -> tuple[list[Frame], int]:
    decoder = driver.decoder()
    frames = [frame for piece in pieces for frame in decoder.feed(piece, 1.0)]
    return frames, decoder.dropped


@given(formats, st.lists(st.none() | noise, max_size=20), st.data())
def test_how_a_stream_is_cut_makes_no_difference(
    driver: Driver, parts: list[bytes | None], data: st.DataObject
) -> None:
    stream = b"".join(GOOD[driver] if part is None else part for part in parts)
    places = data.draw(st.lists(st.integers(0, len(stream)), max_size=20).map(sorted))
    cut = [
        stream[begin:end] for begin, end in zip([0, *places], [*places, len(stream)], strict=True)
    ]
    single = [stream[place : place + 1] for place in range(len(stream))]
    assert fed(driver, [stream]) == fed(driver, cut) == fed(driver, single)


@given(formats, st.lists(noise, max_size=20))
def test_good_lines_survive_any_noise_between_them(driver: Driver, noises: list[bytes]) -> None:
    good, _ = fed(driver, [GOOD[driver]])
    pieces = [part for noisy in noises for part in (noisy + b"\r\n", GOOD[driver])]
    frames, _ = fed(driver, pieces)
    assert frames.count(good[0]) >= len(noises)


@pytest.mark.parametrize("driver", GOOD)
def test_blank_lines_mean_nothing(driver: Driver) -> None:
    frames, dropped = fed(driver, [b"\r\n\n\r" + GOOD[driver] + b"\r\n\r\n"])
    assert [type(frame) for frame in frames] == [Reading]
    assert dropped == 0


@pytest.mark.parametrize("driver", GOOD)
def test_a_long_line_that_begins_well_is_no_frame_however_it_is_cut(driver: Driver) -> None:
    line = GOOD[driver].strip() + b" " * LONGEST_LINE + b"x\r\n"
    for size in (len(line), LONGEST_LINE, 1):
        pieces = [line[place : place + size] for place in range(0, len(line), size)]
        assert fed(driver, pieces) == ([], 1)


@pytest.mark.parametrize("driver", GOOD)
def test_a_line_without_end_is_dropped_once_and_keeps_no_memory(driver: Driver) -> None:
    decoder = driver.decoder()
    chunk = GOOD[driver].strip() * 200
    tracemalloc.start()
    before, _ = tracemalloc.get_traced_memory()
    for _ in range(1000):
        assert decoder.feed(chunk, 0.0) == []
    after, _ = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert after - before < 10 * LONGEST_LINE
    assert len(decoder.feed(b"\r\n" + GOOD[driver], 0.0)) == 1
    assert decoder.dropped == 1
