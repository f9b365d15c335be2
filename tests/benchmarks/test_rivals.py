"""The rule, the segmentation and the oracle: rests whose answer is known."""

from __future__ import annotations

import math
from dataclasses import replace
from math import inf

import pytest

from simulators.display import Division
from simulators.habits import CLEAN
from simulators.pan_make import PanMake
from tests.benchmarks.corpus import cases, play
from tests.benchmarks.oracle import best_mean, display_noise_g, oracle_rests, quiet_samples
from tests.benchmarks.rests import Sample, Told, compare, samples_of, true_rests
from tests.benchmarks.rule import rule_rests
from tests.benchmarks.segments import pieces_to_rests


def at_10_hz(*weights_g: float) -> list[Sample]:
    return [(n / 10, weight_g) for n, weight_g in enumerate(weights_g)]


def test_the_rule_waits_for_k_readings_within_a_division_either_way() -> None:
    told = rule_rests(at_10_hz(5, 9, 10, 11, 10, 12, 11, 14, 14), 1.0, 4)
    assert told == [Told(0.4, 0.7, 10.0, 10.0)]
    assert rule_rests(at_10_hz(0, 3, 0, 3, 0, 3), 1.0, 4) == []


def test_the_rule_takes_slow_pouring_for_rest() -> None:
    flow = at_10_hz(*(0.5 * n for n in range(60)))
    assert rule_rests(flow, 1.0, 5) == [Told(0.4, inf, 1.0, 1.0)]


def test_a_piece_is_a_rest_when_it_is_long_enough_and_close_together() -> None:
    samples = at_10_hz(*[0.0] * 10, 20, 50, 80, *[100.0, 101.0] * 5, *range(100, 120, 2))
    told = pieces_to_rests(samples, 1.0, [10, 11, 12, 13, 23, 33])
    assert told == [Told(0.5, 1.0, 0.0, 0.0), Told(1.8, 2.3, 100.5, 100.5)]


def test_the_oracle_counts_noise_by_readings_and_rounding_in_full() -> None:
    _, u_g = best_mean([0.0] * 9, 0.3, 1.0)
    assert u_g == pytest.approx(math.hypot(0.1, 1 / math.sqrt(12)))


def test_the_oracle_leaves_out_readings_that_lag() -> None:
    oldest, u_g = best_mean([40.0, 8.0, 0.0, 0.0], 0.2, 1.0)
    assert oldest == 2
    assert u_g == pytest.approx(math.hypot(0.2 / math.sqrt(2), 1 / math.sqrt(12)))


def test_the_oracle_knows_the_scale_s_noise() -> None:
    make = PanMake(division=Division.parse("1 g"), noise_g=0.3, draught_g=0.4)
    assert display_noise_g(make) == pytest.approx(0.5)
    shaken = replace(make, noise_g=0.0, draught_g=0.0, vibration_g=2.0)
    assert display_noise_g(shaken) == pytest.approx(2 * make.vibration_gain / math.sqrt(2))


def test_on_a_real_run_the_oracle_is_never_false_and_the_wall() -> None:
    (case,) = cases(1, ("1 g",), CLEAN, 60)
    run, readings = play(case)
    samples, rests = samples_of(readings), true_rests(run, readings)
    quiet = [weight_g for t, weight_g in quiet_samples(run) if t <= rests[-1].end_s]
    assert quiet[-1] == pytest.approx(rests[-1].load_g, abs=0.05)
    oracle = compare(run, rests, oracle_rests(run, samples, rests))
    rule = compare(run, rests, rule_rests(samples, 1.0, case.rate_hz))
    assert len(rests) > 20
    assert (oracle.false, len(oracle.delays_s)) == (0, len(rests))
    assert len(rule.delays_s) > 0.6 * len(rests)
    assert max(oracle.delays_s) < sum(rule.delays_s) / len(rule.delays_s)
    assert max(map(abs, oracle.booked_d)) < 1
