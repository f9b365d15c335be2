"""How much a pan shakes, told from how much it moves."""

from __future__ import annotations

import math
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core.line import Line
from scaled.core.noise import LAG_S, Grain, shaking


@pytest.mark.parametrize("spread_g", [0.5, 1.0, 2.0])
@pytest.mark.parametrize("slope", [0.0, 0.3, -0.3])
def test_the_spread_of_white_noise_is_found_whatever_level_and_slope(
    spread_g: float, slope: float
) -> None:
    random = Random(3)  # noqa: S311 -- noise
    weights = [500 + slope * i + random.gauss(0, spread_g) for i in range(2000)]
    assert shaking(weights, 1.0) == pytest.approx(spread_g, rel=0.1)


def test_movement_is_no_noise() -> None:
    assert shaking([float(i * i) for i in range(30)], 1.0) == 0.0
    assert shaking([100 * math.exp(-i / 5) for i in range(30)], 1.0) == 0.0


def test_few_readings_tell_nothing() -> None:
    assert shaking([], 1.0) == shaking([1.0], 1.0) == shaking([1.0, 2.0, 1.0], 1.0) == 0.0


def test_violent_shaking_is_bounded() -> None:
    assert shaking([0.0, 500.0] * 20, 1.0) < 20.0


@given(st.lists(st.floats(-1e5, 1e5), max_size=40), st.sampled_from([2.0, 8.0]))
def test_it_scales_with_the_scale(weights: list[float], factor: float) -> None:
    scaled = shaking([factor * weight for weight in weights], factor)
    assert scaled == pytest.approx(factor * shaking(weights, 1.0))


# What is learnt of a scale.


def rest(spread_g: float, readings: int) -> Line:
    random, line = Random(readings), Line(0.0, 100.0)  # noqa: S311 -- noise
    for count in range(readings):
        line.add([(0.1 * count, 100.0 + random.gauss(0, spread_g))])
    return line


def test_rest_after_rest_the_noise_is_known_better() -> None:
    grain = Grain.of(1.0)
    for _ in range(60):
        grain.learn(rest(2.0, readings=200))
    assert grain.noise_g == pytest.approx(2.0, rel=0.1)
    assert grain.division_g == 1.0


def test_a_quiet_pan_is_never_taken_for_a_perfect_one() -> None:
    grain = Grain.of(1.0)
    for _ in range(60):
        grain.learn(rest(0.0, readings=20))
    assert 0 < grain.noise_g <= 0.1


def test_a_few_readings_teach_nothing() -> None:
    grain = Grain.of(1.0)
    grain.learn(rest(50.0, readings=4))
    assert grain == Grain.of(1.0)


def test_a_shaking_pan_is_known_apart_from_the_scale() -> None:
    grain = Grain.of(1.0)
    assert grain.at_least(5.0) == Grain(1.0, 5.0)
    assert grain.at_least(0.0) == grain == Grain.of(1.0)


def test_only_a_slow_filter_is_known_to_hold_something_back() -> None:
    grain = Grain.of(1.0)
    for lag_s, held_s in ((0.6, (0.36, 0.84)), (LAG_S, (0.0, LAG_S)), (0.0, (0.0, LAG_S))):
        grain.learn_lag(lag_s)
        assert grain.held_s == pytest.approx(held_s)
        assert grain.at_least(5.0).held_s == grain.held_s
