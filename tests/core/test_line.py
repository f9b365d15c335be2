"""The straight line through readings, against numpy and the standard library."""

from __future__ import annotations

import math
import statistics

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core.line import Line

Sample = tuple[float, float]


@given(
    st.lists(
        st.tuples(st.floats(0, 5), st.floats(-20, 20)),
        min_size=3,
        max_size=40,
        unique_by=lambda s: s[0],
    ).filter(lambda samples: statistics.pstdev(t for t, _ in samples) > 0.01),
    st.floats(-1000, 1000),
)
def test_the_line_agrees_with_numpy_and_the_standard_library(
    samples: list[Sample], level_g: float
) -> None:
    line = Line(2.5, level_g)
    times = np.array([t for t, _ in samples])
    weights = np.array([level_g + w for _, w in samples])
    for t, w in samples:
        line.add([(t, level_g + w)])
    slope, intercept = np.polyfit(times, weights, 1)
    left = weights - (slope * times + intercept)
    assert line.n == len(samples)
    assert line.mean == pytest.approx(statistics.fmean(weights), abs=1e-9)
    assert line.slope == pytest.approx(
        statistics.linear_regression(times, weights).slope, rel=1e-6, abs=1e-6
    )
    assert line.slope == pytest.approx(slope, rel=1e-6, abs=1e-6)
    deviation = math.sqrt(float(left @ left) / (len(samples) - 2))
    assert line.spread == pytest.approx(deviation, rel=1e-5, abs=1e-5)
    assert line.deviation == pytest.approx(statistics.stdev(weights), rel=1e-6, abs=1e-6)
    assert line.stt == pytest.approx(len(samples) * np.var(times))


def test_two_readings_scatter_about_no_line() -> None:
    line = Line(0.0, 10.0)
    line.add([(0.0, 10.0)])
    line.add([(0.1, 11.0)])
    assert line.spread == 0.0
    assert line.slope == pytest.approx(10.0)


def test_one_reading_deviates_from_nothing() -> None:
    line = Line(0.0, 10.0)
    line.add([(0.0, 10.0)])
    assert (line.mean, line.deviation) == (10.0, 0.0)


# Certified values: NIST Statistical Reference Datasets, univariate summary statistics. NumAcc3
# and NumAcc4 are 1001 values: base + 0.2, then base + 0.1 and base + 0.3 by turns. The stored
# floats themselves deviate by 0.10000000003492 and 0.10000000055879.


@pytest.mark.parametrize(("base", "rel"), [(1_000_000.0, 1e-9), (10_000_000.0, 1e-8)])
def test_mean_and_deviation_of_nearly_equal_numbers_are_the_certified_ones(
    base: float, rel: float
) -> None:
    numbers = [base + 0.2, *[base + 0.1, base + 0.3] * 500]
    line = Line(50.0, numbers[0])
    for place, number in enumerate(numbers):
        line.add([(0.1 * place, number)])
    assert line.mean == pytest.approx(base + 0.2, rel=1e-15)
    assert line.deviation == pytest.approx(0.1, rel=rel)
    # What the line explains and what it leaves make up the whole.
    squares = line.spread**2 * (line.n - 2) + line.slope**2 * line.stt
    assert squares == pytest.approx(0.1**2 * 1000, rel=2 * rel)
