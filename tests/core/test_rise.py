"""How long the weight took to come: strewn or dropped?"""

from __future__ import annotations

import pytest

from scaled.core.movement import Movement
from scaled.core.noise import Grain
from scaled.core.rest import Phase, Rest
from scaled.core.rise import KEPT, LONGER_S, Rises, rise_s
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
