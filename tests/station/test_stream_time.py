from __future__ import annotations

from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from scaled.core.reading import Reading
from scaled.station.stream_time import StreamTime

seconds = st.floats(0, 1e6)


@given(origin=seconds, times=st.lists(seconds, min_size=1))
def test_every_reading_has_a_time_of_its_own_in_whole_milliseconds(
    origin: float, times: list[float]
) -> None:
    time = StreamTime(lambda: origin)
    stamped = [time.stamped(Reading(t, 1.0)).t for t in times]
    assert all(later > earlier for earlier, later in pairwise(stamped))
    assert all(t == round(t, 3) for t in stamped)
    assert time.last_t == stamped[-1]


def test_readings_in_order_keep_their_time() -> None:
    time = StreamTime(lambda: 0.0)
    assert [time.stamped(Reading(t, 1.0)).t for t in (0.1, 0.2, 0.2, 0.3)] == [
        0.1,
        0.2,
        0.201,
        0.3,
    ]


def test_now_counts_from_the_beginning_and_is_never_before_the_newest_reading() -> None:
    clock = 1000.0
    time = StreamTime(lambda: clock)
    clock = 1002.5
    assert time.now() == 2.5
    time.stamped(Reading(3.0, 1.0))
    assert time.now() == 3.0


def test_an_interrupted_stream_goes_on() -> None:
    clock = 5.0
    time = StreamTime(lambda: clock)
    time.go_on(40.0)
    assert (time.now(), time.last_t) == (40.0, 40.0)
    clock = 6.0
    assert time.now() == 41.0
