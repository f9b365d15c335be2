"""How much a pan shakes, told from how much it moves."""

from __future__ import annotations

import math
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core.noise import shaking


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
