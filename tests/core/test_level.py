"""What a stretch of readings says of the weight."""

from __future__ import annotations

import math
from random import Random

import pytest

from scaled.core.level import averaged, steadiest, weighed
from scaled.core.line import Line
from scaled.core.noise import LAG_S, Grain

Sample = tuple[float, float]
ROUNDED = 1 / math.sqrt(12)
"""Standard uncertainty of one rounded reading, in divisions (JCGM 100:2008, F.2.2.1)."""
LEAST = (0.4, 3)


def at(rate_hz: float, weights: list[float]) -> list[Sample]:
    return [(i / rate_hz, weight) for i, weight in enumerate(weights)]


def shown(weight_g: float) -> float:
    return math.floor(weight_g + 0.5)


def line_through(samples: list[Sample]) -> Line:
    line = Line(samples[-1][0], samples[-1][1])
    for t, weight_g in samples:
        line.add([(t, weight_g)])
    return line


# The mean of a pan that stands.


def test_repeating_one_number_knows_it_as_well_as_rounding_lets() -> None:
    samples = at(10, [20.0] * 30)
    level_g, u_g = averaged(line_through(samples), 2.9, Grain.of(1.0))
    assert level_g == 20.0
    assert u_g == pytest.approx(ROUNDED)


@pytest.mark.parametrize("rate_hz", [5, 10, 20])
@pytest.mark.parametrize("noise_g", [0.0, 0.2, 0.5, 1.0, 2.0])
def test_the_mean_of_noisy_readings_covers_the_weight(noise_g: float, rate_hz: int) -> None:
    """About 5 % may lie outside two uncertainties (JCGM 100:2008, G.1.3: k = 2 for about 95 %)."""
    random = Random(rate_hz)  # noqa: S311 -- noise
    outside = 0
    for _ in range(500):
        weight_g = random.uniform(5, 500)
        weights = [shown(weight_g + random.gauss(0, noise_g)) for _ in range(rate_hz)]
        span_s = 1 - 1 / rate_hz
        level_g, u_g = averaged(line_through(at(rate_hz, weights)), span_s, Grain(1.0, noise_g))
        outside += abs(level_g - weight_g) > 2 * u_g
    assert outside <= 0.08 * 500  # more in 1 run of 500 at most, if 5 % lie outside


# A pan that may still move.


def test_half_of_the_movement_that_the_slope_promises_is_still_to_come() -> None:
    samples = at(10, [10.0, 10.5, 11.0, 11.5, 12.0])
    level_g, u_g = weighed(line_through(samples), 0.4, Grain.of(1.0))
    assert level_g == pytest.approx(11.0 + LAG_S * 5.0 / 2)
    assert u_g > LAG_S * 5.0 / math.sqrt(12)  # none or all of it: a rectangle (JCGM 100, 4.3.7)


def test_a_longer_look_knows_better_that_nothing_moves() -> None:
    grain = Grain.of(1.0)
    known = [
        weighed(line_through(at(10, [20.0] * n)), 0.1 * (n - 1), grain)[1] for n in range(3, 13)
    ]
    assert known == sorted(known, reverse=True)
    assert known[-1] > ROUNDED


@pytest.mark.parametrize("rate_hz", [5, 10, 20])
@pytest.mark.parametrize("lag_s", [0.05, 0.1, 0.2, 0.3])
def test_where_a_filter_comes_to_rest_is_covered(lag_s: float, rate_hz: int) -> None:
    """Looked at as soon as it is known well enough for a rest."""
    random = Random(int(100 * lag_s))  # noqa: S311 -- noise
    outside, grain = 0, Grain.of(1.0)
    for _ in range(300):
        load_g, samples = random.uniform(5, 300), []
        for i in range(10 * rate_hz):
            t = i / rate_hz
            weight_g = load_g * (1 - math.exp(-t / lag_s)) + random.gauss(0, 0.1)
            samples.append((t, float(shown(weight_g))))
            level = steadiest(samples, LEAST, grain)
            if level is not None and level.u_g < 0.55:
                outside += abs(level.level_g - load_g) > 2 * level.u_g
                break
        else:
            pytest.fail("never at rest")
    assert outside <= 0.08 * 300


# Which stretch.


def test_too_short_a_stretch_and_too_few_readings_say_nothing() -> None:
    grain = Grain.of(1.0)
    assert steadiest(at(20, [20.0] * 8), LEAST, grain) is None
    assert steadiest([(0.0, 20.0), (0.9, 20.0)], LEAST, grain) is None
    assert steadiest(at(20, [20.0] * 9), LEAST, grain) is not None


def test_a_jump_and_what_came_before_it_are_left_out() -> None:
    samples = at(10, [20.0] * 10 + [60.0] * 6)
    level = steadiest(samples, LEAST, Grain.of(1.0))
    assert level is not None
    assert level.begin_s == 1.0
    assert level.level_g == pytest.approx(60.0)
    assert steadiest(samples, LEAST, Grain.of(1.0), since_s=1.2) is None


def test_a_noisy_pan_is_read_over_a_wider_range() -> None:
    samples = at(10, [20.0, 24.0] * 8)
    assert steadiest(samples, LEAST, Grain(1.0, 0.3)) is None
    level = steadiest(samples, LEAST, Grain(1.0, 2.0))
    assert level is not None
    assert level.level_g == pytest.approx(22.0, abs=1.0)
    assert level.u_g > 0.5
