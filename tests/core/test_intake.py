"""The door for readings: what comes in as grams, and what stays out."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core.intake import Intake
from scaled.core.reading import Reading, Unit


# NIST Handbook 44, Appendix C (avoirdupois).
@pytest.mark.parametrize(
    ("weight", "unit", "grams"),
    [
        (1.0, Unit.G, 1.0),
        (1.0, Unit.KG, 1000.0),
        (1.0, Unit.OZ, 28.349523125),
        (1.0, Unit.LB, 453.59237),
        (-2.0, Unit.OZ, -56.69904625),
        (0.0, Unit.LB, 0.0),
        (1.0, None, 1.0),
    ],
)
def test_weights_become_grams(weight: float, unit: Unit | None, grams: float) -> None:
    assert Intake().read(Reading(0.0, weight, unit)) == pytest.approx(grams, rel=1e-15)


def test_units_may_be_mixed_freely() -> None:
    intake = Intake()
    shown = [(0.25, Unit.KG), (250.0, Unit.G), (8.0, Unit.OZ), (0.5, Unit.LB), (250.0, Unit.G)]
    grams = [intake.read(Reading(t, w, unit)) for t, (w, unit) in enumerate(shown)]
    assert grams == pytest.approx([250.0, 250.0, 226.796185, 226.796185, 250.0])


def test_a_reading_without_unit_is_in_the_last_one_seen() -> None:
    intake = Intake()
    assert intake.read(Reading(0.0, 5.0)) == 5.0
    assert intake.read(Reading(1.0, 1.0, Unit.OZ)) == 28.349523125
    assert intake.read(Reading(2.0, 2.0)) == 56.69904625
    assert intake.unit is Unit.OZ
    assert intake.read(Reading(3.0, 2.0, Unit.G)) == 2.0
    assert intake.read(Reading(4.0, 3.0)) == 3.0


@pytest.mark.parametrize(
    ("before", "after", "unit"),
    [(300.0, 10.58, Unit.OZ), (300.0, 0.3, Unit.KG), (300.0, 0.66, Unit.LB)],
)
def test_a_unit_key_without_a_label_is_found_out_and_back_again(
    before: float, after: float, unit: Unit
) -> None:
    intake = Intake()
    shown = [before, before, after, after, after, before, before]
    grams, units = [], []
    for t, weight in enumerate(shown):
        grams.append(intake.read(Reading(t, weight)))
        units.append(intake.unit)
    # The first number after each switch is held back until the second confirms it.
    assert [gram is None for gram in grams] == [False, False, True, False, False, True, False]
    assert [gram for gram in grams if gram is not None] == pytest.approx([before] * 5, rel=0.01)
    assert units == [Unit.G, Unit.G, Unit.G, unit, unit, unit, Unit.G]


def unit_after(*numbers: float, division_g: float | None, unit: Unit = Unit.G) -> Unit:
    """The unit that a scale without one is in at the end; it begins in ``unit``."""
    intake = Intake()
    intake.unit = unit
    for t, number in enumerate(numbers):
        intake.read(Reading(t, number), division_g)
    return intake.unit


@pytest.mark.parametrize(
    ("before", "after", "division_g", "unit"),
    [
        (20.0, 0.7, 1.0, Unit.OZ),
        (20.0, 0.02, 1.0, Unit.KG),
        (20.0, 0.044, 1.0, Unit.LB),
        (19.9, 0.705, 0.1, Unit.OZ),
        (15.0, 0.6, 5.0, Unit.OZ),
    ],
)
def test_a_light_weight_tells_by_a_number_that_the_old_unit_cannot_show(
    before: float, after: float, division_g: float, unit: Unit
) -> None:
    assert unit_after(before, before, after, after, division_g=division_g) is unit
    assert unit_after(before, before, after, before, division_g=division_g) is Unit.G
    assert unit_after(before, before, after, after, division_g=None) is Unit.G


def test_a_light_load_lifted_off_in_one_go_is_no_unit_key() -> None:
    assert unit_after(20.0, 20.0, 0.7, 0.7, division_g=0.1) is Unit.G
    assert unit_after(2.0, 2.0, 0.07, 0.07, division_g=1.0) is Unit.G


def test_a_whole_number_after_a_jump_tells_once_a_finer_one_follows() -> None:
    build = 140.0, 140.0, 5.0, 5.0
    assert unit_after(*build, division_g=5.0) is Unit.G
    assert unit_after(*build, 7.2, 7.2, division_g=5.0) is Unit.OZ
    assert unit_after(*build, 10.0, 10.0, 0.0, 15.0, division_g=5.0) is Unit.G
    assert unit_after(*build, 0.002, 0.002, division_g=5.0) is Unit.G
    assert unit_after(*build, 0.0, 7.2, 7.2, division_g=5.0) is Unit.G


def test_a_weight_that_only_passes_by_is_no_switch_of_unit() -> None:
    intake = Intake()
    for t, weight in enumerate([300.0, 10.58, 0.0, 0.0]):
        intake.read(Reading(t, weight))
    assert intake.unit is Unit.G


def test_a_unit_found_out_elsewhere_is_not_taken_back() -> None:
    intake = Intake()
    intake.read(Reading(0.0, 1.0, Unit.OZ))
    assert intake.read(Reading(1.0, 24.5)) == pytest.approx(24.5 * 28.349523125)
    assert intake.correct(Unit.G) == pytest.approx(1 / 28.349523125)
    assert [intake.read(Reading(t, 24.5)) for t in (2.0, 3.0)] == [24.5, 24.5]
    assert intake.unit is Unit.G


@pytest.mark.parametrize(
    "refused",
    [
        Reading(5.0, math.nan, Unit.OZ),
        Reading(5.0, math.inf, Unit.OZ),
        Reading(5.0, -math.inf, Unit.OZ),
        Reading(5.0, 1e300, Unit.OZ),
        Reading(5.0, -1e9, Unit.OZ),
        Reading(5.0, 1.7e308, Unit.LB),
        Reading(math.nan, 10.0, Unit.OZ),
        Reading(math.inf, 10.0, Unit.OZ),
        Reading(-math.inf, 10.0, Unit.OZ),
        Reading(4.0, 10.0, Unit.OZ),
        Reading(3.0, 10.0, Unit.OZ),
    ],
)
def test_what_makes_no_sense_is_left_out_and_leaves_no_trace(refused: Reading) -> None:
    intake = Intake()
    intake.read(Reading(4.0, 7.0, Unit.G))
    assert intake.read(refused) is None
    assert intake.unit is Unit.G
    assert intake.read(Reading(4.5, 8.0)) == 8.0


@pytest.mark.parametrize("t", [math.nan, math.inf, -math.inf])
def test_a_first_reading_needs_a_time(t: float) -> None:
    intake = Intake()
    assert intake.read(Reading(t, 7.0, Unit.OZ)) is None
    assert intake.read(Reading(-1e6, 7.0)) == 7.0


numbers = st.floats(allow_nan=True, allow_infinity=True)
units = st.sampled_from([*Unit, None])


@given(st.lists(st.builds(Reading, t=numbers, weight=numbers, unit=units), max_size=30))
def test_whatever_comes_time_runs_on_and_grams_are_sensible(readings: list[Reading]) -> None:
    intake = Intake()
    taken = [(r.t, grams) for r in readings if (grams := intake.read(r)) is not None]
    times = [t for t, _ in taken]
    assert times == sorted(set(times))
    assert all(abs(grams) < 1e6 for _, grams in taken)


@given(st.lists(st.floats(-5000, 5000), min_size=1, max_size=20), st.data())
def test_readings_sent_twice_count_once(weights: list[float], data: st.DataObject) -> None:
    sent, once = Intake(), Intake()
    for t, weight in enumerate(weights):
        reading = Reading(float(t), weight, Unit.G)
        times = data.draw(st.integers(1, 3))
        assert [sent.read(reading) for _ in range(times)] == [
            once.read(reading),
            *[None] * (times - 1),
        ]
