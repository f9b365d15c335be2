"""Against the closed forms of K. Ogata, Modern Control Engineering, "Second-order systems"."""

from __future__ import annotations

import math
import statistics
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simulators.chance import stream
from simulators.mechanics import (
    STEP_S,
    Filter,
    LowPassPair,
    MovingAverage,
    Resonance,
    Wander,
    noise_gain,
)


@given(st.floats(8, 25), st.floats(0.02, 0.9))
def test_load_cell_answers_a_step_as_the_textbook_says(natural_hz: float, damping: float) -> None:
    cell = Resonance(natural_hz, damping)
    omega = math.tau * natural_hz
    root = math.sqrt(1 - damping**2)
    for n in range(1, 400):
        t = n * STEP_S
        wave = math.sin(omega * root * t + math.acos(damping))
        expected = 1 - math.exp(-damping * omega * t) / root * wave
        assert cell.step(1.0) == pytest.approx(expected, abs=1e-9)


def test_load_cell_overshoots_by_the_textbook_amount() -> None:
    cell = Resonance(10.0, 0.2)
    peak = max(cell.step(1.0) for _ in range(200))
    overshoot = math.exp(-math.pi * 0.2 / math.sqrt(1 - 0.2**2))
    assert peak - 1.0 == pytest.approx(overshoot, abs=2e-3)


@given(st.floats(0.04, 0.25))
def test_two_low_passes_answer_a_step_in_closed_form(tau_s: float) -> None:
    smoothing = LowPassPair(tau_s)
    for n in range(1, 1000):
        x = n * STEP_S / tau_s
        assert smoothing.step(1.0) == pytest.approx(1 - (1 + x) * math.exp(-x), abs=1e-9)


def test_moving_average_climbs_evenly_and_arrives_after_its_window() -> None:
    smoothing = MovingAverage(0.4)
    answers = [smoothing.step(1.0) for _ in range(300)]
    assert answers[:200] == pytest.approx([(n + 1) / 200 for n in range(200)])
    assert answers[200:] == pytest.approx([1.0] * 100)


def test_moving_average_gathers_no_rounding_error() -> None:
    smoothing = MovingAverage(0.2)
    rng = stream(5)
    for _ in range(50_000):
        smoothing.step(rng.uniform(-1e6, 1e6))
    settled = [smoothing.step(0.1) for _ in range(300)]
    assert settled[-1] == pytest.approx(0.1, abs=1e-9)


FILTERS: list[Filter] = [
    LowPassPair(0.04),
    LowPassPair(0.25),
    MovingAverage(0.2),
    MovingAverage(0.37),
]


CELL = Resonance(14.0, 0.1)


def amplitude(part: Filter | Resonance, hz: float) -> float:
    """Size of the answer to a steady vibration, by quadrature over whole seconds."""
    steps = round(1 / STEP_S)
    for n in range(8 * steps):
        part.step(math.sin(math.tau * hz * n * STEP_S))
    answers = [part.step(math.sin(math.tau * hz * n * STEP_S)) for n in range(steps)]
    return math.sqrt(2 * statistics.fmean(a * a for a in answers))


@pytest.mark.parametrize("hz", [5, 12, 29])
@pytest.mark.parametrize("smoothing", [*FILTERS, CELL])
def test_says_how_much_it_passes_of_a_vibration(smoothing: Filter | Resonance, hz: int) -> None:
    # Held inputs at 500 Hz are not quite a sine: a few per cent are left for that.
    assert amplitude(smoothing, hz) == pytest.approx(smoothing.gain(hz), rel=0.05, abs=1e-3)


def test_passes_the_resting_level_whole() -> None:
    assert [part.gain(0.0) for part in FILTERS] == [1.0] * 4


@pytest.mark.parametrize("make", [lambda: LowPassPair(0.05), lambda: MovingAverage(0.3)])
def test_says_how_much_noise_it_lets_through(make: Callable[[], Filter]) -> None:
    rng, smoothing = stream(1), make()
    answers = [smoothing.step(rng.gauss(0.0, 1.0)) for _ in range(100_000)]
    assert statistics.pstdev(answers) == pytest.approx(noise_gain(make()), rel=0.06)


def test_moving_average_lets_noise_through_as_the_root_of_its_length() -> None:
    assert noise_gain(MovingAverage(0.5)) == pytest.approx(1 / math.sqrt(250))


def test_wander_keeps_its_spread_and_its_memory() -> None:
    wander = Wander(spread=2.0, memory_s=1.0, every_s=0.1, rng=stream(3))
    values = [wander.step() for _ in range(60_000)]
    assert statistics.pstdev(values) == pytest.approx(2.0, rel=0.05)
    correlation = statistics.correlation(values[:-10], values[10:])
    assert correlation == pytest.approx(math.exp(-1.0), abs=0.05)
