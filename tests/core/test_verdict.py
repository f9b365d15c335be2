"""Pass, over, under and how sure: against the guides that define the terms."""

from __future__ import annotations

import math
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core.events import Verdict
from scaled.core.verdict import Band, normal_cdf

limits = st.integers(-50_000, 5_000_000).map(lambda mg: mg / 1000)
"""Weights as profiles write them, to 1 mg."""
widths = st.integers(1, 500_000).map(lambda mg: mg / 1000)
uncertainties = st.floats(0.001, 1000)


@pytest.mark.parametrize(
    ("net_g", "verdict"),
    [
        (109.0, Verdict.PASS),
        (127.0, Verdict.PASS),
        (118.0, Verdict.PASS),
        (108.999, Verdict.UNDER),
        (127.001, Verdict.OVER),
        (0.0, Verdict.UNDER),
        (-3.0, Verdict.UNDER),
        (1e9, Verdict.OVER),
    ],
)
def test_limits_are_inclusive(net_g: float, verdict: Verdict) -> None:
    assert Band.around(118.0, 9.0, 9.0).judge(net_g) is verdict


@given(limits, widths, widths, st.floats(-0.0004, 0.0004))
def test_less_than_half_a_milligram_decides_nothing(
    target_g: float, under_g: float, over_g: float, stray_g: float
) -> None:
    band = Band.around(target_g, under_g, over_g)
    assert band.judge(target_g - under_g + stray_g) is Verdict.PASS
    assert band.judge(target_g + over_g + stray_g) is Verdict.PASS


@given(limits, widths, widths, st.floats(0.0006, 1e6))
def test_more_than_half_a_milligram_decides(
    target_g: float, under_g: float, over_g: float, beyond_g: float
) -> None:
    band = Band.around(target_g, under_g, over_g)
    assert band.judge(target_g - under_g - beyond_g) is Verdict.UNDER
    assert band.judge(target_g + over_g + beyond_g) is Verdict.OVER


def test_limits_that_floats_cannot_write_hold() -> None:
    band = Band.around(0.3, 0.1, 0.1)
    assert 0.3 - 0.1 != 0.2  # the last bit that must not decide
    assert band.judge(0.2) is Verdict.PASS
    assert band.judge(0.1 + 0.2 + 0.1) is Verdict.PASS


@given(st.floats(-40, 40))
def test_the_normal_distribution_agrees_with_the_standard_library(z: float) -> None:
    assert math.isclose(normal_cdf(z), NormalDist().cdf(z), rel_tol=1e-12, abs_tol=1e-15)


def test_the_far_tail_does_not_vanish() -> None:
    # Mills' bounds of the normal tail: x/(x²+1) < (1-Φ(x))/φ(x) < 1/x.
    for x in (5.0, 8.0, 12.0, 30.0):
        tail = normal_cdf(-x) / NormalDist().pdf(x)
        assert x / (x * x + 1) < tail < 1 / x


# JCGM 106:2012, 7.3, Table 1: conformance probability of one tolerance limit at
# z = (T_U - y)/u; the z computed to four decimals.
@pytest.mark.parametrize(
    ("z", "conformance"),
    [
        (0.8416, 0.80),
        (1.0364, 0.85),
        (1.2816, 0.90),
        (1.6449, 0.95),
        (1.9600, 0.975),
        (2.3263, 0.99),
        (3.0902, 0.999),
    ],
)
def test_one_limit_conforms_as_jcgm_106_tabulates(z: float, conformance: float) -> None:
    upper = Band(-math.inf, 100.0, 110.0)
    lower = Band(90.0, 100.0, math.inf)
    for u_g in (0.3, 1.0, 7.0):
        assert math.isclose(upper.conformance(110.0 - z * u_g, u_g), conformance, abs_tol=2e-5)
        assert math.isclose(lower.conformance(90.0 + z * u_g, u_g), conformance, abs_tol=2e-5)


# JCGM 106:2012, two limits: risk 1 - p_c of one measured value ("specific risk"), as worked in
# the tests of the public uncertainty library suncal.
@pytest.mark.parametrize(("y", "risk"), [(10.0, 0.0124193), (10.5, 0.105738)])
def test_two_limits_conform_as_worked_examples(y: float, risk: float) -> None:
    band = Band(9.0, 10.0, 11.0)
    assert math.isclose(1 - band.conformance(y, 0.4), risk, abs_tol=5e-7)
    assert math.isclose(1 - band.confidence(y, 0.4), risk, abs_tol=5e-7)


# ILAC-G8:09/2019: with no guard band (w = 0) the probability of false accept is up to 50 % at
# the limit; with w = U (k = 2) it is below 2.5 %.
@pytest.mark.parametrize("limit", ["low", "high"])
def test_simple_acceptance_risks_what_ilac_g8_says(limit: str) -> None:
    band, u_g = Band.around(100.0, 10.0, 10.0), 0.5
    at, inwards = (band.high_g, -1) if limit == "high" else (band.low_g, 1)
    assert band.judge(at) is Verdict.PASS
    assert math.isclose(band.confidence(at, u_g), 0.5, abs_tol=1e-12)
    assert 1 - band.confidence(at + inwards * 2 * u_g, u_g) < 0.025


@given(limits, widths, widths, st.floats(-100, 1e4), uncertainties)
def test_under_pass_and_over_share_the_whole_probability(
    target_g: float, under_g: float, over_g: float, net_g: float, u_g: float
) -> None:
    band = Band.around(target_g, under_g, over_g)
    true = NormalDist(net_g, u_g)
    shares = {
        Verdict.UNDER: true.cdf(band.low_g),
        Verdict.PASS: true.cdf(band.high_g) - true.cdf(band.low_g),
        Verdict.OVER: 1 - true.cdf(band.high_g),
    }
    assert math.isclose(band.confidence(net_g, u_g), shares[band.judge(net_g)], abs_tol=1e-9)
    assert 0.0 <= band.conformance(net_g, u_g) <= 1.0


@given(limits, widths, widths, st.floats(0, 1000), uncertainties)
def test_a_verdict_is_surer_the_further_from_the_limit(
    target_g: float, under_g: float, over_g: float, beyond_g: float, u_g: float
) -> None:
    band = Band.around(target_g, under_g, over_g)
    near, far = band.high_g + 0.001 + beyond_g, band.high_g + 0.001 + 2 * beyond_g
    assert 0.5 <= band.confidence(near, u_g) <= band.confidence(far, u_g) <= 1.0
    near, far = band.low_g - 0.001 - beyond_g, band.low_g - 0.001 - 2 * beyond_g
    assert 0.5 <= band.confidence(near, u_g) <= band.confidence(far, u_g) <= 1.0
