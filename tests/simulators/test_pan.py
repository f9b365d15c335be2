from __future__ import annotations

import statistics
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simulators.chance import stream
from simulators.display import Division, Shown, Span
from simulators.pan import Pan
from simulators.pan_make import RATES_HZ, PanMake

QUIET = PanMake(division=Division.parse("1 g"))


def weigh(make: PanMake, load_g: float, until_s: float, seed: int = 1) -> list[Shown]:
    return Pan(make, stream(seed)).update(until_s, lambda _: load_g)


def drawn(seed: int, division: str = "1 g", rate_hz: int = 10) -> PanMake:
    return PanMake.draw(Division.parse(division), rate_hz, stream(seed))


@pytest.mark.parametrize("rate_hz", RATES_HZ)
def test_reads_at_its_rate(rate_hz: int) -> None:
    shown = weigh(replace(QUIET, rate_hz=rate_hz), 0.0, 3.0)
    expected = [n / rate_hz for n in range(1, 3 * rate_hz + 1)]
    assert [one.t for one in shown] == pytest.approx(expected)


@given(st.lists(st.floats(0.0, 0.4), max_size=20), st.integers(0, 50))
def test_how_often_it_is_asked_changes_nothing(pieces: list[float], seed: int) -> None:
    make = drawn(seed)
    apart, at_once = Pan(make, stream(seed)), Pan(make, stream(seed))
    t, shown = 0.0, []
    for piece in pieces:
        t += piece
        shown += apart.update(t, lambda s: 100.0 * (s > 1.0))
    assert shown == at_once.update(t, lambda s: 100.0 * (s > 1.0))


@given(st.floats(0, 3000), st.sampled_from(["0.1 g", "0.5 g", "1 g", "2 g", "5 g"]))
def test_a_quiet_scale_comes_to_rest_at_the_rounded_load(load_g: float, division: str) -> None:
    make = replace(QUIET, division=Division.parse(division))
    assert weigh(make, load_g + 0.01, 4.0)[-1].weight == make.division.round(load_g + 0.01)


def test_same_chance_same_readings_and_other_chance_others() -> None:
    make = drawn(4, "0.1 g")
    assert weigh(make, 50.0, 5.0, seed=1) == weigh(make, 50.0, 5.0, seed=1)
    assert weigh(make, 50.0, 5.0, seed=1) != weigh(make, 50.0, 5.0, seed=2)


def test_a_reading_at_rest_is_as_noisy_as_its_make_says() -> None:
    make = replace(QUIET, division=Division.parse("0.001 g"), noise_g=0.2)
    values = [float(one.weight) for one in weigh(make, 50.0, 400.0)[20:]]
    assert statistics.fmean(values) == pytest.approx(50.0, abs=0.03)
    assert statistics.pstdev(values) == pytest.approx(0.2, rel=0.1)


def test_a_shaken_pan_swings_by_its_gain() -> None:
    make = replace(QUIET, division=Division.parse("0.001 g"), vibration_g=10.0, vibration_hz=13.3)
    values = [float(one.weight) for one in weigh(make, 50.0, 60.0)[40:]]
    assert max(values) - min(values) == pytest.approx(20.0 * make.vibration_gain, rel=0.05)


@given(st.integers(0, 2000))
def test_drawn_scales_stay_within_what_kitchens_have(seed: int) -> None:
    make = drawn(seed, "2 g", 20)
    assert 8 <= make.natural_hz <= 25
    assert 0.04 <= make.low_pass_s <= 0.25
    assert make.average_s is None or 0.2 <= make.average_s <= 1.0
    assert 5 <= make.vibration_hz <= 30
    assert make.vibration_g * make.vibration_gain <= 0.4 * 2 * (1 + 1e-9)
    assert make.noise_g <= 0.3 * 2


def test_stable_lags_behind_rest_and_goes_at_once() -> None:
    pan = Pan(replace(QUIET, stable_s=0.7, low_pass_s=0.04), stream(1))
    shown = pan.update(6.0, lambda t: 100.0 if 2.0 <= t < 4.0 else 0.0)
    first_right = next(one.t for one in shown if one.t > 2.0 and one.weight == 100)
    first_stable = next(one.t for one in shown if one.t > 2.1 and one.stable)
    assert first_stable - first_right == pytest.approx(0.6, abs=0.11)
    assert not next(one for one in shown if one.t > 4.15).stable


def test_without_a_mark_nothing_is_said() -> None:
    assert {one.stable for one in weigh(replace(QUIET, stable_s=None), 10.0, 2.0)} == {None}


def test_the_tare_key_jumps_to_zero_and_shows_what_is_lifted_below_it() -> None:
    pan = Pan(replace(QUIET, drift_g=0.4), stream(1))
    before = pan.update(3.0, lambda _: 80.0)[-1]
    pan.press_tare()
    after = pan.update(3.1, lambda _: 80.0)[-1]
    assert (before.net, after.net) == (False, True)
    assert abs(before.weight - 80) <= 1
    assert after.weight == 0
    assert not after.stable
    assert abs(pan.update(6.0, lambda _: 0.0)[-1].weight + 80) <= 1


def test_the_unit_key_goes_to_ounces_and_back() -> None:
    pan = Pan(QUIET, stream(1))
    shown = []
    for t in (3.0, 3.1, 3.2):
        shown.append(pan.update(t, lambda _: 56.69904625)[-1])
        pan.press_unit()
    assert [(one.weight, one.unit) for one in shown] == [
        (Decimal(57), "g"),
        (Decimal("2.00"), "oz"),
        (Decimal(57), "g"),
    ]


@pytest.mark.parametrize(
    ("load_g", "span"),
    [
        (1000.0, Span.WITHIN),
        (1008.9, Span.WITHIN),  # OIML R 76-1: nothing shown above Max + 9 e
        (1009.1, Span.ABOVE),
        (-19.9, Span.WITHIN),
        (-20.1, Span.BELOW),
    ],
)
def test_goes_dark_out_of_range(load_g: float, span: Span) -> None:
    assert weigh(replace(QUIET, capacity_g=1000.0), load_g, 5.0)[-1].span is span
