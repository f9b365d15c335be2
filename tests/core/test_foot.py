"""Food that came slowly just before a rise: was it the ingredient before?"""

from __future__ import annotations

import math

import pytest

from scaled.core.foot import DOUBT, LASTS_S, Foot
from scaled.core.noise import Grain
from scaled.core.rest import Phase, Rest
from scaled.core.settle import Settler
from scaled.core.shoulder import Stop
from tests.core.scripted_scale import Scale
from tests.core.watched import looked

Move = tuple[float, float]
FOOT = (100.0, 102.0, 105.0, 106.0, 106.0, 107.0, 117.0, 137.0, 157.0)
CRUMBS: Move = (5.0, 0.3)
"""Too few and too slow for a shoulder: those are gestures."""


def told(*parts: Move, rate_hz: float = 20) -> list[tuple[Phase, Rest]]:
    """The rests and feet of a load that changes so, g and s, between long rests."""
    scale, settler = Scale(division=1.0, rate_hz=rate_hz, lag_s=0.08), Settler(1.0)
    said = []
    for by_g, in_s in [(0.0, 2.0), (200.0, 0.3), (0.0, 2.0), *parts, (0.0, 2.0)]:
        said += [settler.read(r.t, r.weight) for r in scale.move(by_g, in_s)]
    return [one for one in said if one and one[0] in {Phase.BEGAN, Phase.PASSED}]


def seen(
    *weights: float, every_s: float = 0.1, told_s: float = 0.0, noise_g: float = 0.1
) -> list[Stop]:
    """The feet of what is shown, from a rest at 100 g whose last reading is the first."""
    foot = Foot(Grain(1.0, noise_g), told_s, 100.0)
    window = [(every_s * i, weight) for i, weight in enumerate(weights)]
    stops = [looked(foot, window[: i + 1]) for i in range(len(window))]
    return [stop for stop in stops if stop]


@pytest.mark.parametrize("rate_hz", [10, 20])
def test_crumbs_just_before_the_next_ingredient_are_told(rate_hz: float) -> None:
    *_, foot, after = told(CRUMBS, (0.0, 0.3), (80.0, 0.3), rate_hz=rate_hz)
    assert foot[0] is Phase.PASSED
    assert not foot[1].settled
    assert abs(foot[1].level_g - 205.0) < 2 * foot[1].u_g
    assert after[1].level_g == pytest.approx(285.0, abs=1.0)


@pytest.mark.parametrize("rate_hz", [5, 10, 20])
def test_a_rise_alone_has_no_foot(rate_hz: float) -> None:
    assert [phase for phase, _ in told((80.0, 0.3), rate_hz=rate_hz)] == [Phase.BEGAN] * 3


def test_too_few_readings_show_no_foot() -> None:
    assert seen(100.0, 110.0, told_s=-1.0) == []


def test_a_foot_is_where_it_slowed_down() -> None:
    (stop,) = seen(*FOOT)
    assert stop.doubt == DOUBT
    assert (stop.begin_s, stop.end_s) == pytest.approx((0.2, 0.6))
    # It crept on by 1 g in 0.2 s: 0.15 s of that is still to come, give or take as much.
    assert stop.level_g == pytest.approx(106.75)
    assert stop.u_g == pytest.approx(math.hypot(0.75 + 2.0, 1.0))


def test_what_only_gets_faster_slowed_down_nowhere() -> None:
    assert not seen(100.0, 101.0, 102.5, 104.0, 106.0, 108.5, 112.0, 140.0, 180.0)


def test_a_hand_that_came_and_went_is_no_foot() -> None:
    assert not seen(100.0, 104.0, 112.0, 112.0, 103.0, 103.0, 103.0, 140.0, 180.0)


def test_what_came_at_once_is_the_filters_own() -> None:
    shown = [100.0, 103.0, 105.0, 105.5, 105.5, 105.5, 105.5, 115.0, 135.0, 155.0]
    assert seen(*shown, every_s=1.2 * LASTS_S / 5)
    assert not seen(*shown, every_s=0.8 * LASTS_S / 5)


def test_a_foot_lower_than_the_noise_is_none() -> None:
    assert not seen(*FOOT, noise_g=2.0)


def test_a_foot_lower_than_the_division_is_none() -> None:
    assert not seen(100.0, 101.0, 101.0, 101.0, 101.0, 101.0, 140.0, 180.0)


def test_slow_pouring_after_a_foot_is_no_gesture() -> None:
    assert not seen(100.0, 101.0, 103.0, 103.0, 103.0, 103.0, 105.0, 107.0, 109.0)


def test_a_slope_that_goes_on_is_no_foot() -> None:
    assert not seen(100.0, 108.0, 116.0, 122.0, 128.0, 134.0, 142.0, 150.0, 158.0)


def test_high_only_since_the_rise_is_no_foot() -> None:
    assert not seen(100.0, 100.0, 100.0, 100.0, 100.0, 102.0, 140.0, 180.0)


def test_a_foot_of_which_one_reading_came_is_none() -> None:
    foot = Foot(Grain(1.0, 0.1), 0.0, 100.0)
    assert looked(foot, [(0.5, 102.0), (0.7, 140.0)]) is None


def test_where_nothing_was_told_nothing_rises_from_it() -> None:
    assert not seen(*FOOT, told_s=-math.inf)
