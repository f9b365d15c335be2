"""What every described format owes: no bytes hurt it, and how they are cut makes no difference."""

from __future__ import annotations

import tracemalloc

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core.reading import Reading
from scaled.protocol import Frame, load_driver
from simulators.wire import WIRES
from tests.drivers.capturing import sent

LONGEST = 64
GOOD = {name: sent(name)[1] for name in WIRES}
LINES = [name for name, frame in GOOD.items() if frame.endswith((b"\r", b"\n"))]
MAKERS = {name: load_driver(name).decoder for name in GOOD}
formats = st.sampled_from(list(GOOD))

# Bytes that the formats are made of come up often enough to make frames nearly right.
noise = st.binary(max_size=30) | st.text(
    "STUSGRWMHLE1,+-0. kgozlb#_^?~*\r\n\0\2\3\5", max_size=100
).map(str.encode)


def fed(name: str, pieces: list[bytes]) -> tuple[list[Frame], int]:
    decoder = MAKERS[name]()
    frames = [frame for piece in pieces for frame in decoder.feed(piece, 1.0)]
    return frames, decoder.dropped


@given(formats, st.lists(st.none() | noise, max_size=20), st.data())
def test_how_a_stream_is_cut_makes_no_difference(
    name: str, parts: list[bytes | None], data: st.DataObject
) -> None:
    stream = b"".join(GOOD[name] if part is None else part for part in parts)
    places = data.draw(st.lists(st.integers(0, len(stream)), max_size=20).map(sorted))
    cut = [
        stream[begin:end] for begin, end in zip([0, *places], [*places, len(stream)], strict=True)
    ]
    single = [stream[place : place + 1] for place in range(len(stream))]
    assert fed(name, [stream]) == fed(name, cut) == fed(name, single)


@given(formats, st.lists(noise, max_size=20))
def test_noise_costs_no_more_than_the_frame_after_it(name: str, noises: list[bytes]) -> None:
    good, _ = fed(name, [GOOD[name]])
    pieces = [part for noisy in noises for part in (noisy, GOOD[name], GOOD[name])]
    frames, _ = fed(name, pieces)
    assert frames.count(good[0]) >= len(noises)


@given(formats, st.binary(max_size=3000))
def test_what_is_read_is_a_number(name: str, data: bytes) -> None:
    frames, _ = fed(name, [data])
    assert all(abs(frame.weight) <= 1e6 for frame in frames if isinstance(frame, Reading))


@pytest.mark.parametrize("name", GOOD)
def test_what_stands_between_frames_unseen_means_nothing(name: str) -> None:
    frames, dropped = fed(name, [b"\r\n\n\r" + GOOD[name] + b"\r\n\r\n"])
    assert [type(frame) for frame in frames] == [Reading]
    assert dropped == 0


@pytest.mark.parametrize("name", LINES)
def test_a_long_line_that_begins_well_is_no_frame_however_it_is_cut(name: str) -> None:
    line = GOOD[name].strip() + b" " * LONGEST + b"x\r\n"
    for size in (len(line), LONGEST, 1):
        pieces = [line[place : place + size] for place in range(0, len(line), size)]
        assert fed(name, pieces) == ([], 1)


def held_by_drivers() -> int:
    """Bytes allocated by the drivers' own lines since tracing began, and not given back."""
    ours = tracemalloc.Filter(inclusive=True, filename_pattern="*/drivers/*")
    kept = tracemalloc.take_snapshot().filter_traces([ours])
    return sum(line.size for line in kept.statistics("filename"))


@pytest.mark.parametrize("name", GOOD)
def test_a_frame_without_end_is_dropped_once_and_keeps_no_memory(name: str) -> None:
    decoder = MAKERS[name]()
    chunk = b"0" * 4000
    assert decoder.feed(GOOD[name][:3], 0.0) == []
    tracemalloc.start()
    before = held_by_drivers()
    for _ in range(1000):
        assert decoder.feed(chunk, 0.0) == []
    after = held_by_drivers()
    tracemalloc.stop()
    assert after - before < 10 * LONGEST
    assert len(decoder.feed(b"\r\n" + GOOD[name], 0.0)) == 1
    assert decoder.dropped == 1
