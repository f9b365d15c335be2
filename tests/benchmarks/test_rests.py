from __future__ import annotations

from math import inf

import pytest

from scaled.core.reading import Reading, Unit
from simulators.truth import Disturbance, DisturbanceKind
from tests.benchmarks.made_run import made_readings, made_run
from tests.benchmarks.rests import Told, TrueRest, compare, samples_of, true_rests

LEVELS = [(0.0, 2.0, 0.0), (3.0, 6.0, 100.0)]
SHOWN = [(0.0, 0.0), (2.2, 40.0), (2.8, 90.0), (3.2, 98.0), (3.4, 100.0), (6.0, 0.0)]
RUN = made_run(LEVELS)


def rest_of(levels: list[tuple[float, float, float]] = LEVELS, **more: object) -> list[TrueRest]:
    return true_rests(made_run(levels, **more), made_readings(SHOWN))  # type: ignore[arg-type]


def word(at_s: float, level_g: float, until_s: float = inf, booked_g: float | None = None) -> Told:
    return Told(at_s, until_s, level_g, level_g if booked_g is None else booked_g)


def test_samples_are_grams_and_each_but_once() -> None:
    readings = [Reading(1.0, 2.0, Unit.OZ), Reading(1.0, 2.0, Unit.OZ), Reading(1.1, 57.0)]
    assert samples_of(readings) == [(1.0, 2 * 28.349523125), (1.1, 57.0)]


def test_a_rest_is_still_when_its_display_stays_within_a_division() -> None:
    (rest,) = rest_of()
    assert (rest.start_s, rest.still_s, rest.end_s, rest.level_g) == (3.0, 3.4, 6.0, 100.0)
    assert rest.plain


def test_the_true_level_follows_zero() -> None:
    (rest,) = rest_of(zeros_g=[(0.0, 0.2), (3.4, 0.3), (9.0, 0.3)])
    assert rest.level_g == pytest.approx(100.3)


def test_what_the_display_did_not_show_moving_is_not_asked_for() -> None:
    levels = [*LEVELS[:1], (3.0, 4.5, 100.0), (4.6, 6.0, 100.0)]
    assert [rest.start_s for rest in rest_of(levels)] == [3.0]


def test_a_rest_too_short_to_see_is_not_asked_for() -> None:
    assert rest_of([(0.0, 2.0, 0.0), (3.0, 3.8, 100.0)]) == []


def test_a_key_cuts_a_rest_in_two_and_levels_near_it_are_not_compared() -> None:
    key = Disturbance(DisturbanceKind.TARE_KEY, 4.95, 4.95)
    run = made_run(
        LEVELS, disturbances=[key], zeros_g=[(0.0, 0.0), (4.95, 0.0), (5.0, -100.0), (9.0, -100.0)]
    )
    readings = made_readings([*SHOWN[:5], (5.0, 0.0), (6.0, 0.0)])
    found = true_rests(run, readings)
    assert [(r.start_s, r.still_s, r.level_g) for r in found] == [
        (3.0, 3.4, 100.0),
        (4.95, 5.0, 0.0),
    ]
    assert not any(r.plain for r in found)


def test_a_garbled_reading_does_not_move_the_display() -> None:
    fault = Disturbance(DisturbanceKind.GARBLED, 4.5, 4.5)
    readings = made_readings(SHOWN)
    readings[45] = Reading(4.5, 700.0, Unit.G)
    (rest,) = true_rests(made_run(LEVELS, faults=[fault]), readings)
    assert (rest.still_s, rest.plain) == (3.4, False)


def test_a_word_in_time_is_timed_and_its_level_compared() -> None:
    figures = compare(RUN, rest_of(), [word(0.5, 0.0, 2.2), word(3.9, 100.5, 6.0, 100.25)])
    assert (figures.asked, figures.told, figures.false) == (1, 2, 0)
    assert figures.delays_s == [pytest.approx(0.5)]
    assert (figures.errors_d, figures.booked_d) == ([0.5], [0.25])


def test_a_level_told_of_a_moving_display_is_not_compared_but_answers_when_it_stands() -> None:
    figures = compare(RUN, rest_of(), [word(3.05, 98.5)])
    assert (figures.delays_s, figures.errors_d) == ([-0.3], [])


@pytest.mark.parametrize("early", [word(3.05, 98.5, 3.3), word(3.05, 97.5)])
def test_an_early_word_that_fell_or_is_off_does_not_answer(early: Told) -> None:
    figures = compare(RUN, rest_of(), [early])
    assert (figures.delays_s, figures.false) == ([], 0)


@pytest.mark.parametrize("false", [word(2.7, 40.0, 2.9), word(3.5, 90.0, 3.9), word(7.0, 100.0)])
def test_a_word_while_a_hand_moves_the_load_or_far_off_is_false(false: Told) -> None:
    figures = compare(RUN, rest_of(), [false])
    assert (figures.told, figures.false, figures.delays_s) == (1, 1, [])


def test_a_late_word_on_the_rest_before_is_no_word_on_this_one() -> None:
    levels = [(0.0, 2.0, 0.0), (3.0, 4.0, 100.0), (4.1, 6.0, 120.0)]
    shown = [*SHOWN[:5], (4.2, 120.0), (6.0, 0.0)]
    run = made_run(levels)
    rests = true_rests(run, made_readings(shown))
    figures = compare(run, rests, [word(4.15, 100.0, 4.2), word(4.6, 120.0)])
    assert figures.delays_s == [pytest.approx(0.75), pytest.approx(0.4)]
    assert figures.errors_d == [0.0, 0.0]


def test_a_rest_told_too_late_was_missed() -> None:
    assert compare(RUN, rest_of(), [word(6.2, 100.0)]).delays_s == [pytest.approx(2.8)]
    assert compare(RUN, rest_of(), [word(6.4, 100.0)]).delays_s == []


def test_figures_add_up() -> None:
    total = compare(RUN, rest_of(), [word(3.9, 100.5)])
    total.add(compare(RUN, rest_of(), [word(2.7, 40.0)]))
    assert (total.asked, total.told, total.false, len(total.delays_s)) == (2, 2, 1, 1)
