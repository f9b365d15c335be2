"""What a cook is likely to do: honest densities, and the right things likelier."""

from __future__ import annotations

import math
from collections.abc import Callable
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core.gesture import DENSEST, Aim, added, flat, intent, normal, taken
from scaled.core.verdict import Band

GRAIN = Aim(Band.around(120.0, 9.0, 9.0), scoops=3)
SAUCE = Aim(Band.around(30.0, 4.0, 4.0), scoops=1)
GENEROUS = Aim(SAUCE.band, scoops=1, off=0.2, spread=0.1)

aims = st.builds(
    lambda target, share, scoops, loose, off, spread: Aim(
        Band.around(target, share * target, share * target), scoops, loose, off, spread
    ),
    st.floats(2, 500),
    st.floats(0.02, 0.3),
    st.integers(1, 6),
    st.booleans(),
    st.floats(-0.3, 0.3),
    st.floats(0.07, 0.4),
)
weights = st.floats(0, 800)
gestures = st.integers(0, 9)


def mass(density: Callable[[float], float], least_g: float, most_g: float) -> float:
    """Integral by the trapezoid rule."""
    at = np.linspace(least_g, most_g, 4001)
    return float(np.trapezoid([density(float(x)) for x in at], at))


@given(st.floats(-200, 200), st.floats(0.05, 50))
def test_the_normal_density_agrees_with_the_standard_library(x: float, spread: float) -> None:
    assert math.isclose(normal(x, spread), NormalDist(0, spread).pdf(x), abs_tol=1e-12)


@given(st.floats(-10, 1000), st.floats(0.5, 900))
def test_the_flat_density_agrees_with_its_definition(x: float, width: float) -> None:
    assert flat(x, width) == (1 / width if 0 <= x <= width else 0.0)


@given(aims, weights, gestures)
def test_something_always_comes_next(aim: Aim, net_g: float, done: int) -> None:
    now = intent(aim, net_g, done)
    assert min(now.more, now.back, now.done) >= 0
    assert now.more + now.back + now.done == pytest.approx(1.0)


@given(aims)
def test_a_step_without_food_waits_for_food(aim: Aim) -> None:
    now = intent(aim, 0.0, 0)
    assert now.more > 0.9
    assert now.back == 0.0  # there is nothing to take


def test_short_asks_for_more_good_is_done_too_much_may_go_back() -> None:
    assert intent(GRAIN, 40.0, 1).more > 0.8
    assert intent(GRAIN, 120.0, 3).done > 0.8
    over = intent(GRAIN, 140.0, 3)
    assert over.back > intent(GRAIN, 120.0, 3).back
    assert over.more < over.done
    # All planned gestures made and still far short: rather more than done.
    assert intent(SAUCE, 10.0, 1).more > intent(SAUCE, 28.0, 1).more


@pytest.mark.parametrize(
    "aim", [GRAIN, SAUCE, GENEROUS, Aim(Band.around(12.0, 3.0, 3.0), 1, True)]
)
@pytest.mark.parametrize("share", [0.0, 0.4, 1.0, 1.3])
@pytest.mark.parametrize("done", [0, 1, 3])
def test_adding_is_a_density(aim: Aim, share: float, done: int) -> None:
    net_g = share * aim.band.target_g

    def density(amount_g: float) -> float:
        return added(aim, net_g, done, amount_g, 0.5)

    whole = mass(density, -2 * aim.band.target_g, 4 * aim.band.target_g)
    assert 0.5 < whole < 1.01


@pytest.mark.parametrize("net_g", [5.0, 30.0, 42.0])
def test_taking_is_a_density_and_never_more_than_there_is(net_g: float) -> None:
    def density(amount_g: float) -> float:
        return taken(SAUCE, net_g, amount_g, 0.5)

    assert 0.1 < mass(density, 0.0, 100.0) < 1.01
    assert density(net_g + 5.0) == 0.0


def test_a_planned_scoop_is_likelier_than_an_odd_one() -> None:
    assert added(GRAIN, 0.0, 0, 40.0, 0.5) > added(GRAIN, 0.0, 0, 25.0, 0.5)
    assert added(GRAIN, 0.0, 0, 40.0, 0.5) > added(GRAIN, 0.0, 0, 55.0, 0.5)
    # Two scoops in one movement are rarer than one, and likelier than one and a half.
    assert added(GRAIN, 0.0, 0, 40.0, 0.5) > added(GRAIN, 0.0, 0, 80.0, 0.5)
    assert added(GRAIN, 0.0, 0, 80.0, 0.5) > added(GRAIN, 0.0, 0, 60.0, 0.5)


def test_small_scoops_follow_small_ones() -> None:
    assert added(GRAIN, 22.0, 1, 22.0, 0.5) > 2 * added(GRAIN, 40.0, 1, 22.0, 0.5)
    assert added(GRAIN, 44.0, 2, 22.0, 0.5) > 2 * added(GRAIN, 80.0, 2, 22.0, 0.5)


def test_a_correction_aims_at_the_target() -> None:
    assert added(SAUCE, 22.0, 1, 8.0, 0.5) > added(SAUCE, 22.0, 1, 18.0, 0.5)
    assert taken(SAUCE, 42.0, 12.0, 0.5) > taken(SAUCE, 42.0, 30.0, 0.5)


def test_who_takes_some_back_seldom_leaves_far_too_little() -> None:
    right, nearly_all = taken(SAUCE, 42.0, 12.0, 0.5), taken(SAUCE, 42.0, 36.0, 0.5)
    assert right > 10 * nearly_all > 0.0


def test_a_cook_corrects_to_what_he_usually_puts_in() -> None:
    assert added(GENEROUS, 22.0, 1, 14.0, 0.5) > added(SAUCE, 22.0, 1, 14.0, 0.5)
    assert taken(GENEROUS, 48.0, 12.0, 0.5) > taken(SAUCE, 48.0, 12.0, 0.5)


def test_a_cook_who_usually_stops_short_is_done_there() -> None:
    frugal = Aim(SAUCE.band, scoops=1, off=-0.2)
    assert intent(frugal, 24.0, 1).done > intent(SAUCE, 24.0, 1).done
    assert intent(frugal, 25.0, 1) == intent(frugal, 24.0, 1)


def test_fingers_surprise_more_than_tools() -> None:
    loose = Aim(SAUCE.band, 1, loose=True)
    assert added(loose, 0.0, 0, 18.0, 0.5) > added(SAUCE, 0.0, 0, 18.0, 0.5)


@given(aims, st.floats(0.1, 800), st.floats(0.01, 5))
def test_no_first_gesture_is_denser_than_its_aim_says(
    aim: Aim, amount_g: float, u_g: float
) -> None:
    assert added(aim, 0.0, 0, amount_g, u_g) <= aim.densest * (1 + 1e-9)


@given(st.floats(0.01, 500), st.floats(0.0, 2.0), gestures, st.floats(0, 60), st.booleans())
def test_no_gesture_is_denser_than_crumbs_allow(
    target_g: float, share: float, made: int, amount_g: float, loose: bool
) -> None:
    aim = Aim(Band.around(target_g, 0.1 * target_g, 0.1 * target_g), scoops=3, loose=loose)
    for more_g in (amount_g, aim.scoop_g, max(aim.usual_g - share * target_g, 0.0)):
        assert added(aim, share * target_g, made, more_g, 0.0) <= DENSEST
