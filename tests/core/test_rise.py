"""How long the weight took to come: strewn or dropped?"""

from __future__ import annotations

import math

import pytest

from scaled.core.movement import Movement
from scaled.core.noise import LAG_S, Grain
from scaled.core.rest import Phase, Rest
from scaled.core.rise import DROP_S, KEPT, LONGER_S, LONGEST_LAG_S, Rises, rise_s
from scaled.core.settle import Settler
from tests.core.scripted_scale import Scale

Move = tuple[float, float]
BOWL, SCOOP, STREWN = (150.0, 0.2), (60.0, 0.3), (40.0, 2.5)
REST: Move = (0.0, 2.0)


def rests(*parts: Move, rate_hz: float = 10, lag_s: float = 0.15) -> list[Rest]:
    """The rests of a load that changes so, g and s, from an empty pan on."""
    scale, settler = Scale(division=1.0, rate_hz=rate_hz, lag_s=lag_s), Settler(1.0)
    said = []
    for by_g, in_s in [REST, *parts]:
        said += [settler.read(r.t, r.weight) for r in scale.move(by_g, in_s)]
    return [one[1] for one in said if one and one[0] is Phase.BEGAN]


@pytest.mark.parametrize("lag_s", [0.05, 0.15, 0.3])
@pytest.mark.parametrize("rate_hz", [5, 10, 20])
def test_what_is_strewn_is_slow_on_fast_scales_and_slow_ones(rate_hz: float, lag_s: float) -> None:
    bowl, scoop, strewn, again = rests(
        BOWL, REST, SCOOP, REST, STREWN, REST, SCOOP, REST, rate_hz=rate_hz, lag_s=lag_s
    )[1:]
    assert bowl.slow is None  # nothing to compare it with
    assert (scoop.slow, strewn.slow, again.slow) == (False, True, False)


@pytest.mark.parametrize("little", [(9.0, 0.2), (-40.0, 0.2)])
def test_what_is_too_little_or_goes_tells_nothing(little: Move) -> None:
    *_, last = rests(BOWL, REST, SCOOP, REST, little, REST)
    assert last.slow is None


@pytest.mark.parametrize(
    ("division_g", "noise_g", "by_g", "known"),
    [(1.0, 0.1, 11.0, True), (1.0, 0.1, 9.0, False), (0.1, 0.05, 3.1, True),
     (0.1, 0.05, 2.9, False), (1.0, 1.0, 14.0, False)],
)  # fmt: skip
def test_a_rise_is_timed_when_it_is_large(
    division_g: float, noise_g: float, by_g: float, known: bool
) -> None:
    moved = Movement(Grain(division_g, noise_g), 0.0, 1.0, 100.0, [(0.0, 100.0)])
    for i in range(1, 6):
        moved.read(0.1 * i, 100.0 + by_g, None)
    assert (moved.took_s(100.0 + by_g) is not None) is known


def test_what_came_in_two_goes_tells_nothing() -> None:
    *_, last = rests(BOWL, REST, SCOOP, REST, SCOOP, (0.0, 0.4), SCOOP, REST)
    assert last.slow is None


def test_a_rise_is_timed_from_a_tenth_of_it_to_nine_tenths() -> None:
    line = [(0.1 * i, 100.0 + 10.0 * i) for i in range(11)]
    assert rise_s([*line, (1.1, 200.0)], 0.0, 100.0, 200.0) == pytest.approx(0.7)
    assert rise_s([(0.0, 100.0), (0.1, 200.0)], 0.0, 100.0, 200.0) == 0.0


def test_a_rise_whose_beginning_is_forgotten_tells_no_time() -> None:
    assert rise_s([(0.1, 180.0), (0.2, 200.0)], 0.0, 100.0, 200.0) is None


def test_readings_of_the_rest_before_do_not_count() -> None:
    samples = [(0.0, 150.0), (1.0, 100.0), (1.1, 150.0), (1.2, 200.0)]
    assert rise_s(samples, 1.0, 100.0, 200.0) == 0.0


def test_a_hand_that_came_and_went_tells_no_time() -> None:
    samples = [(0.0, 100.0), (0.1, 180.0), (0.2, 120.0), (0.3, 200.0)]
    assert rise_s(samples, 0.0, 100.0, 200.0) is None


def test_the_lag_is_that_of_the_quick_ones_among_the_newest() -> None:
    rises = Rises()
    assert rises.slow(2.0) is None
    assert rises.slow(0.5) is False  # quicker than the quickest so far
    assert rises.slow(0.5 + LONGER_S + 0.1) is True
    assert rises.slow(0.5 + LONGER_S - 0.1) is False
    for _ in range(KEPT):
        rises.slow(1.5)  # another indicator, so slow by itself
    assert rises.slow(2.0) is False
    rises.slow(0.1)  # one alone is a key or a slip
    assert rises.slow(2.3) is False


def test_the_filter_is_known_from_two_rises_on() -> None:
    rises = Rises()
    lags_s = [rises.lag_s(0.1)]
    for took_s in (1.4, 1.2, 9.0, 9.0, 9.0, 0.0, 0.0):
        rises.slow(took_s)
        lags_s.append(rises.lag_s(0.1))
    known_s = (1.3 - DROP_S) / math.log(9)
    # Of six one may be a slip, but not two.
    assert lags_s == pytest.approx([0.0, 0.0, *[known_s] * 5, 0.0])
    for _ in range(KEPT):
        rises.slow(9.0)
    assert rises.lag_s(0.1) == LONGEST_LAG_S


def test_a_cook_who_strews_does_not_make_a_scale_slow() -> None:
    rises = Rises()
    for took_s in (0.4, 2.5, 2.4, 2.6, 2.2):  # a bowl, and four portions
        rises.slow(took_s)
    assert rises.lag_s(0.1) < LAG_S


@pytest.mark.parametrize("rate_hz", [5, 10, 20])
@pytest.mark.parametrize("lag_s", [0.4, 0.6, 0.7])
def test_the_time_constant_of_a_slow_filter_is_found(lag_s: float, rate_hz: float) -> None:
    rises = Rises()
    for began_s in (0.0, 10.0):
        display = [
            (i / rate_hz, 1 - math.exp(-i / rate_hz / lag_s)) for i in range(int(8 * rate_hz))
        ]
        took_s = rise_s([(began_s + t, g) for t, g in display], began_s, 0.0, 1.0)
        assert took_s is not None
        rises.slow(took_s)
    assert rises.lag_s(1 / rate_hz) == pytest.approx(lag_s - DROP_S / math.log(9), abs=0.1)
