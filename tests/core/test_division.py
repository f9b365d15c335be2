from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core.division import ASK_AFTER, LearntDivision, infer_division, step_of
from scaled.core.reading import GRAMS, Reading, Unit


def shown(weights: list[float], unit: Unit | None = Unit.G) -> list[Reading]:
    return [Reading(index / 10, weight, unit) for index, weight in enumerate(weights)]


def portions(decimals: int, multiple: int, count: int = 60) -> list[float]:
    """Different weights as a display of that step shows them, scattered over its range."""
    scattered = [n * n * 37 % 1999 for n in range(1, count + 1)]  # 1999 is a prime
    return [round(multiple * number / 10**decimals, decimals) for number in scattered]


@pytest.mark.parametrize(
    ("decimals", "multiple", "unit", "division"),
    [
        (0, 1, Unit.G, 1.0),
        (0, 2, Unit.G, 2.0),
        (0, 5, Unit.G, 5.0),
        (1, 5, Unit.G, 0.5),
        (1, 2, Unit.G, 0.2),
        (1, 1, Unit.G, 0.1),
        (0, 10, Unit.G, 10.0),
        (3, 1, Unit.KG, 0.001),
        (3, 5, Unit.KG, 0.005),
        (2, 1, Unit.OZ, 0.01),
        (2, 5, Unit.OZ, 0.05),
        (4, 5, Unit.LB, 0.0005),
        (3, 2, Unit.LB, 0.002),
    ],
)
def test_finds_the_step_of_each_display(
    decimals: int, multiple: int, unit: Unit, division: float
) -> None:
    readings = shown(portions(decimals, multiple), unit)
    assert infer_division(readings) == division * GRAMS[unit]


@given(
    st.sampled_from([0.1, 0.2, 0.5, 1.0, 2.0, 5.0]),
    st.lists(st.integers(1, 4000), min_size=60, max_size=200, unique=True),
    st.lists(st.floats(-1e300, 1e300), max_size=4),
)
def test_a_few_garbled_weights_do_no_harm(
    step: float, counts: list[int], garbled: list[float]
) -> None:
    # Neighbours on the display make the step itself visible, whatever else was drawn.
    weights = [round(count * step, 1) for start in counts for count in (start, start + 1)]
    assert infer_division(shown(weights + garbled)) == step


def test_resting_long_on_one_weight_changes_nothing() -> None:
    assert infer_division(shown([100.0] * 5000 + portions(0, 1))) == 1.0


def test_the_unit_shown_most_often_decides() -> None:
    grams = shown(portions(0, 1, count=80), Unit.G)
    ounces = shown(portions(2, 5, count=40), Unit.OZ)
    assert infer_division([*ounces, *grams]) == 1.0
    assert infer_division([*ounces * 3, *grams]) == 0.05 * GRAMS[Unit.OZ]


def test_a_narrow_range_is_not_taken_for_its_round_number() -> None:
    assert infer_division(shown([round(999.2 + n / 10, 1) for n in range(16)])) == 0.1


def test_no_unit_counts_as_grams() -> None:
    assert infer_division(shown(portions(0, 2), None)) == 2.0


@pytest.mark.parametrize("weights", [[], [0.0], [0.0, 100.0, 250.0] * 50])
def test_too_few_different_weights_say_nothing(weights: list[float]) -> None:
    assert infer_division(shown(weights)) is None


def test_weights_off_any_step_say_nothing() -> None:
    assert infer_division(shown([n * 1e-9 for n in range(1, 40)])) is None


def test_what_is_learnt_without_a_unit_is_in_the_unit_assumed() -> None:
    learnt = LearntDivision(None)
    for reading in [*shown([100.0], Unit.G), *shown(portions(2, 5), None)]:
        learnt.learn(reading, Unit.OZ)
    assert learnt.known_g == learnt.grams == 0.05 * GRAMS[Unit.OZ]


def test_learning_ends() -> None:
    learnt, was = LearntDivision(None), []
    for reading in shown([100.0] * ASK_AFTER[-1], Unit.G):
        was.append(learnt.learning)
        learnt.learn(reading, Unit.G)
    assert all(was)
    assert not learnt.learning
    assert not LearntDivision(5.0).learning


@pytest.mark.parametrize(
    ("number", "step"), [(0.65, 0.05), (-16.6, 0.2), (20.0, 20.0), (0.0, None), (1e-9, None)]
)
def test_the_coarsest_step_that_shows_a_number(number: float, step: float | None) -> None:
    assert step_of(number) == step
