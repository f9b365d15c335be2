from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simulators.stroke import Landing, Load, Press, Stroke


@given(st.floats(1, 500), st.floats(0.05, 0.5), st.floats(0.0, 0.2))
def test_a_fall_pushes_by_its_momentum(mass_g: float, span_s: float, fall_s: float) -> None:
    """The surplus push over time is the momentum over gravity: m v / g."""
    falling, laid = Landing(0.0, span_s, mass_g, fall_s), Landing(0.0, span_s, mass_g)
    steps = 2000
    times = [(n + 0.5) * span_s / steps for n in range(steps)]
    surplus = math.fsum(falling.push_g(t) - laid.push_g(t) for t in times) * span_s / steps
    assert surplus == pytest.approx(mass_g * fall_s, rel=1e-4, abs=1e-9)


def test_a_quick_fall_overshoots_and_a_laid_thing_does_not() -> None:
    times = [n / 1000 for n in range(1, 200)]
    assert max(Landing(0.0, 0.2, 100.0, 0.12).push_g(t) for t in times) > 130.0
    assert max(Landing(0.0, 0.2, 100.0).push_g(t) for t in times) <= 100.0


def test_a_press_leaves_nothing() -> None:
    press = Press(1.0, 0.5, 300.0, 0.1, 5.0)
    assert press.push_g(1.0) == press.push_g(1.5) == 0.0
    assert press.push_g(1.25) == pytest.approx(300.0, rel=0.07)
    load = Load([press])
    assert [load.at(t) for t in (0.9, 1.5, 2.0)] == [0.0, 0.0, 0.0]


STROKES = st.builds(
    Landing, st.floats(0, 10), st.floats(0.01, 2), st.floats(-100, 100), st.floats(0, 0.2)
) | st.builds(
    Press, st.floats(0, 10), st.floats(0.1, 1), st.floats(-50, 50), st.just(0.05), st.just(5.0)
)


@given(st.lists(STROKES, max_size=12))
def test_load_is_the_sum_of_what_stays(strokes: list[Stroke]) -> None:
    load = Load(strokes)
    for n in range(1300):
        load.at(n / 100)
    assert load.resting
    assert load.at(13.0) == pytest.approx(math.fsum(s.stays_g for s in strokes), abs=1e-9)


def test_load_takes_strokes_while_it_is_read() -> None:
    load = Load()
    assert load.at(1.0) == 0.0
    load.add([Landing(1.0, 0.1, 50.0)])
    assert 0.0 < load.at(1.05) < 50.0
    assert not load.resting
    assert load.at(1.2) == 50.0
    assert load.resting
