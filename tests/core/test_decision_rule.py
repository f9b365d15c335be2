"""How uncertainty counts in a verdict: against the guides that define the rules."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad  # type: ignore[import-untyped]
from scipy.stats import gamma, norm  # type: ignore[import-untyped]

from scaled.core.accuracy import ByClass
from scaled.core.division import LearntDivision
from scaled.core.events import Doubt, Verdict
from scaled.core.verdict import COVERAGE, Band, DecisionRule

SIMPLE = DecisionRule()
GUARDED = DecisionRule(guarded=True)
SAID = {Verdict.UNDER, Verdict.PASS, Verdict.OVER}

bands = st.builds(Band.around, st.floats(50, 500), st.floats(0.1, 50), st.floats(0.1, 50))
uncertainties = st.floats(0.001, 50)


# ILAC-G8:09/2019, guard band w = U: limits ±3 µm, U = 1 µm (k = 2) leave ±2 µm to accept; 1.7
# passes, 2.5 is inside the tolerance and not accepted. What is outside is rejected.
@pytest.mark.parametrize(
    ("y", "verdict", "doubt"),
    [
        (0.0, Verdict.PASS, None),
        (1.7, Verdict.PASS, None),
        (-2.0, Verdict.PASS, None),
        (2.0, Verdict.PASS, None),
        (2.5, Verdict.UNSURE, Doubt.NEAR_LIMIT),
        (-2.5, Verdict.UNSURE, Doubt.NEAR_LIMIT),
        (3.0, Verdict.UNSURE, Doubt.NEAR_LIMIT),
        (3.1, Verdict.OVER, None),
        (-3.1, Verdict.UNDER, None),
    ],
)
def test_guarded_acceptance_as_ilac_g8_works_it(
    y: float, verdict: Verdict, doubt: Doubt | None
) -> None:
    judged = GUARDED.judge(Band(-3.0, 0.0, 3.0), y, 0.5)
    assert (judged.verdict, judged.doubt) == (verdict, doubt)
    simple = SIMPLE.judge(Band(-3.0, 0.0, 3.0), y, 0.5)
    assert simple.verdict is Band(-3.0, 0.0, 3.0).judge(y)
    assert simple.doubt is None


def test_a_guarded_pass_is_false_less_often_than_ilac_g8_allows() -> None:
    # ILAC-G8:09/2019: w = U gives a probability of false accept below 2.5 %; w = 0 up to 50 %.
    band, u_g = Band.around(100.0, 10.0, 10.0), 0.5
    worst = GUARDED.judge(band, band.high_g - COVERAGE * u_g, u_g)
    assert worst.verdict is Verdict.PASS
    assert 0.02 < 1 - worst.confidence < 0.025
    assert SIMPLE.judge(band, band.high_g, u_g).confidence == pytest.approx(0.5)


def consumers_risk(
    prior: Callable[[float], float], tolerance: Band, accepted: Band, u: float
) -> float:
    """Probability of a bad one that is accepted (JCGM 106:2012, 9.5.2)."""
    span = 8 * u  # further off, nothing is accepted
    low = (
        quad(
            lambda x: prior(x) * accepted.conformance(x, u), accepted.low_g - span, tolerance.low_g
        )[0]
        if math.isfinite(tolerance.low_g)
        else 0.0
    )
    high = quad(
        lambda x: prior(x) * accepted.conformance(x, u), tolerance.high_g, accepted.high_g + span
    )[0]
    return float(low + high)


def producers_risk(
    prior: Callable[[float], float], tolerance: Band, accepted: Band, u: float
) -> float:
    """Probability of a good one that is rejected (JCGM 106:2012, 9.5.2)."""
    low = max(tolerance.low_g, 0.0)
    return float(
        quad(
            lambda x: prior(x) * (1 - accepted.conformance(x, u)),
            low,
            tolerance.high_g,
            points=[min(max(accepted.low_g, low), tolerance.high_g), accepted.high_g],
        )[0]
    )


# JCGM 106:2012, the resistor example: made N(1500, 0.12) ohm, tolerance 1499.8 to 1500.2, u 0.04,
# guard band 0.02: about 1 % bad ones accepted and 7 % good ones rejected. Further digits computed
# from the inputs.
@pytest.mark.parametrize(
    ("guard", "consumers", "producers"), [(0.02, 0.009878, 0.069027), (0.0, 0.018942, 0.037208)]
)
def test_a_guard_band_trades_risks_as_in_the_resistors_of_jcgm_106(
    guard: float, consumers: float, producers: float
) -> None:
    prior, tolerance = norm(1500.0, 0.12).pdf, Band(1499.8, 1500.0, 1500.2)
    accepted = tolerance.narrowed(guard)
    assert math.isclose(consumers_risk(prior, tolerance, accepted, 0.04), consumers, abs_tol=2e-6)
    assert math.isclose(producers_risk(prior, tolerance, accepted, 0.04), producers, abs_tol=2e-6)


# JCGM 106:2012, 9.5.4, run-out of ball bearings: Gamma(4, 0.25 µm), one limit of 2 µm, u 0.25 µm.
# Wanted risk 0.001: guard band 0.32817 µm.
@pytest.mark.parametrize(
    ("guard", "consumers", "producers"), [(0.0, 0.0080191, 0.0174446), (0.32817, 0.001, 0.0755)]
)
def test_a_guard_band_trades_risks_as_in_the_bearings_of_jcgm_106(
    guard: float, consumers: float, producers: float
) -> None:
    prior, tolerance = gamma(4, scale=0.25).pdf, Band(-math.inf, 1.0, 2.0)
    accepted = tolerance.narrowed(guard)
    assert math.isclose(consumers_risk(prior, tolerance, accepted, 0.25), consumers, abs_tol=1e-6)
    assert math.isclose(producers_risk(prior, tolerance, accepted, 0.25), producers, abs_tol=5e-5)


@given(bands, st.floats(-1000, 1000), uncertainties)
def test_probabilities_agree_with_a_reference(band: Band, y: float, u: float) -> None:
    true = norm(y, u)
    assert math.isclose(
        band.conformance(y, u), true.cdf(band.high_g) - true.cdf(band.low_g), abs_tol=1e-12
    )


# JCGM 106:2012, 7.6.3: C_m = T / (4 u).
def test_the_capability_index_is_that_of_jcgm_106() -> None:
    assert Band(9.0, 10.0, 11.0).capability(0.1) == pytest.approx(5.0)
    assert Band(9.0, 10.0, 11.0).capability(0.5) == pytest.approx(1.0)


@pytest.mark.parametrize("guarded", [False, True])
@pytest.mark.parametrize(
    ("y", "verdict"),
    [
        (100.0, Verdict.UNSURE),
        (106.0, Verdict.UNSURE),
        (94.0, Verdict.UNSURE),
        (106.2, Verdict.OVER),
        (93.8, Verdict.UNDER),
    ],
)
def test_in_a_tolerance_too_narrow_for_the_scale_only_what_is_far_off_is_judged(
    guarded: bool, y: float, verdict: Verdict
) -> None:
    # Limits 98 and 102, d = 5 g and so u = 2.0412 g at best (JCGM 100:2008, F.2.2.1, twice): no
    # weight could be called good, 4.08 g beyond a limit is bad for sure.
    rule = DecisionRule(guarded, division=LearntDivision(5.0))
    judged = rule.judge(Band.around(100.0, 2.0, 2.0), y, 2.0412415)
    assert judged.verdict is verdict
    assert judged.doubt is (Doubt.TOO_COARSE if verdict is Verdict.UNSURE else None)
    assert (judged.confidence > 0.95) is (verdict is not Verdict.UNSURE)


def test_only_what_the_scale_can_never_judge_is_too_coarse() -> None:
    band = Band.around(100.0, 2.0, 2.0)
    # A weight known badly this once, on a scale that can do better: judged, with its confidence.
    fine = DecisionRule(division=LearntDivision(1.0)).judge(band, 100.0, 2.0)
    assert (fine.verdict, fine.doubt) == (Verdict.PASS, None)
    assert fine.confidence < 0.7
    # Noise that makes up for coarse steps: known better than by two rounded readings.
    dithered = DecisionRule(division=LearntDivision(5.0)).judge(band, 100.0, 0.9)
    assert (dithered.verdict, dithered.doubt) == (Verdict.PASS, None)
    # Nothing is known of the scale yet.
    assert DecisionRule(division=LearntDivision(None)).judge(band, 100.0, 2.0).doubt is None


def test_the_scales_own_error_can_be_too_much_for_a_tolerance() -> None:
    # Class III, e = 5 g, in service: 5/sqrt(3) = 2.9 g whatever the display's steps.
    rule = DecisionRule(accuracy=ByClass("III", 5.0), division=LearntDivision(1.0))
    assert rule.judge(Band.around(100.0, 5.0, 5.0), 100.0, 0.4).doubt is Doubt.TOO_COARSE
    assert rule.judge(Band.around(100.0, 6.0, 6.0), 100.0, 0.4).doubt is None


@given(bands, st.floats(0, 1000), uncertainties, st.booleans())
def test_no_rule_says_the_opposite_of_the_weight(
    band: Band, y: float, u: float, guarded: bool
) -> None:
    judged = DecisionRule(guarded).judge(band, y, u)
    assert judged.verdict in {band.judge(y), Verdict.UNSURE}
    assert (judged.verdict is Verdict.UNSURE) is (judged.doubt is not None)
    assert 0.0 <= judged.confidence <= 1.0
    if judged.verdict is Verdict.PASS:
        assert GUARDED.judge(band, y, u).confidence == judged.confidence


@given(bands, st.floats(0, 1000), uncertainties)
def test_whatever_passes_guarded_passes_simply(band: Band, y: float, u: float) -> None:
    if GUARDED.judge(band, y, u).verdict is Verdict.PASS:
        assert SIMPLE.judge(band, y, u).verdict is Verdict.PASS
    if SIMPLE.judge(band, y, u).verdict in {Verdict.OVER, Verdict.UNDER}:
        assert GUARDED.judge(band, y, u).verdict is SIMPLE.judge(band, y, u).verdict


@given(bands, uncertainties)
def test_who_reaches_the_goal_passes_wherever_anything_can(band: Band, u: float) -> None:
    assert SIMPLE.goal(band, u) == band
    goal = GUARDED.goal(band, u)
    assert goal.low_g <= band.target_g <= goal.high_g
    if GUARDED.judge(band, band.target_g, u).verdict is Verdict.PASS:
        for y in (goal.low_g, band.target_g, goal.high_g):
            assert GUARDED.judge(band, y, u).verdict is Verdict.PASS


def test_the_scales_own_error_counts_in_the_uncertainty() -> None:
    # Class III, e = 1 g, in service: 1/sqrt(3) = 0.57735 g beside what the readings leave.
    rule = DecisionRule(accuracy=ByClass("III", 1.0))
    judged = rule.judge(Band.around(60.0, 6.0, 6.0), 60.0, 0.408248)
    assert judged.u_scale_g is not None
    assert math.isclose(judged.u_scale_g, 0.57735, rel_tol=1e-5)
    assert math.isclose(judged.u_g, math.hypot(0.57735, 0.408248), rel_tol=1e-5)
    assert SIMPLE.judge(Band.around(60.0, 6.0, 6.0), 60.0, 0.4).u_scale_g is None


@given(bands, st.floats(0, 600), uncertainties)
def test_no_weight_that_passes_is_no_good(band: Band, y: float, u: float) -> None:
    for rule in (SIMPLE, GUARDED):
        if rule.word(band, y, u) is Verdict.PASS:
            assert not rule.no_good(band, y, u)


def test_no_good_is_beyond_a_limit_by_more_than_the_expanded_uncertainty() -> None:
    band, on_class_three = Band(54.0, 60.0, 66.0), DecisionRule(accuracy=ByClass("III", 1.0))
    assert SIMPLE.no_good(band, 53.1, 0.4)
    assert SIMPLE.no_good(band, 66.9, 0.4)
    assert not SIMPLE.no_good(band, 53.3, 0.4)
    assert not SIMPLE.no_good(band, 66.7, 0.4)
    # The scale's own error counts: u = 0.70 g.
    assert not on_class_three.no_good(band, 53.1, 0.4)
    assert on_class_three.no_good(band, 52.5, 0.4)
    # Guarded acceptance gives no weight beyond a limit the benefit of the doubt.
    assert GUARDED.no_good(band, 53.9, 0.4)
    assert not GUARDED.no_good(band, 54.1, 0.4)


@given(bands, st.floats(0, 1000), st.sampled_from([0.0, 1e-12]))
def test_an_ideal_scale_leaves_no_doubt(band: Band, y: float, u: float) -> None:
    judged = SIMPLE.judge(band, y, u)
    assert judged.verdict in SAID
    assert 0.0 <= judged.confidence <= 1.0
