"""The parts between a load and a number: load cell, indicator filters, wander.

Each part keeps its own state and advances by :data:`STEP_S` a call, exactly for an input held
over that time, so that the length of the step does not colour the result.
"""

from __future__ import annotations

import math
from collections import deque
from random import Random
from typing import Final, Protocol

STEP_S: Final = 0.002
"""Internal time step, s: a 25 Hz load cell gets 20 steps a swing."""

_SETTLED: Final = 1e-9


class Resonance:
    """A mass on a spring: the load cell with its platter.

    Underdamped second-order system with unit gain: at rest it shows the load itself.
    """

    def __init__(self, natural_hz: float, damping: float) -> None:
        """Start at rest, unloaded.

        Args:
            natural_hz: Undamped natural frequency, Hz.
            damping: Damping ratio, above 0 and below 1.
        """
        omega = math.tau * natural_hz
        ringing = omega * math.sqrt(1.0 - damping**2)
        decay = math.exp(-damping * omega * STEP_S)
        sine, cosine = math.sin(ringing * STEP_S), math.cos(ringing * STEP_S)
        lag = damping * omega / ringing * sine
        self._keep = decay * (cosine + lag)
        self._carry = decay * sine / ringing
        self._pull = decay * sine * omega**2 / ringing
        self._slow = decay * (cosine - lag)
        self._ratio, self._natural_hz = damping, natural_hz
        self._x = self._v = 0.0

    def step(self, load: float) -> float:
        """Deflection, in units of load, one step on under ``load``."""
        off, v = self._x - load, self._v
        self._x = load + self._keep * off + self._carry * v
        self._v = self._slow * v - self._pull * off
        return self._x

    def gain(self, hz: float) -> float:
        """How much a steady vibration of that frequency is magnified."""
        r = hz / self._natural_hz
        return 1.0 / math.hypot(1.0 - r * r, 2.0 * self._ratio * r)


class Filter(Protocol):
    """An indicator's smoothing, unit gain at rest."""

    def step(self, value: float) -> float:
        """Output one step on, the input held at ``value``."""
        ...

    def gain(self, hz: float) -> float:
        """Amplitude of a steady vibration of that frequency behind the filter; 1 at 0 Hz."""
        ...


class LowPassPair:
    """Two first-order low-passes in a row, each of time constant ``tau_s``."""

    def __init__(self, tau_s: float) -> None:
        self._tau_s = tau_s
        self._decay = math.exp(-STEP_S / tau_s)
        self._cross = self._decay * STEP_S / tau_s
        self._first = self._second = 0.0

    def step(self, value: float) -> float:
        """Output one step on, the input held at ``value``."""
        off = self._first - value
        self._second = value + self._decay * (self._second - value) + self._cross * off
        self._first = value + self._decay * off
        return self._second

    def gain(self, hz: float) -> float:
        """Amplitude of a steady vibration of that frequency behind the filter."""
        return 1.0 / (1.0 + (math.tau * hz * self._tau_s) ** 2)


class MovingAverage:
    """The mean of the last ``window_s`` seconds."""

    def __init__(self, window_s: float) -> None:
        self._count = max(1, round(window_s / STEP_S))
        self._values = deque([0.0] * self._count, maxlen=self._count)
        self._sum = 0.0
        self._fresh = 0

    def step(self, value: float) -> float:
        """Output one step on, the input held at ``value``."""
        self._sum += value - self._values[0]
        self._values.append(value)
        self._fresh += 1
        if self._fresh == self._count:  # a running sum gathers rounding errors
            self._sum, self._fresh = math.fsum(self._values), 0
        return self._sum / self._count

    def gain(self, hz: float) -> float:
        """Amplitude of a steady vibration of that frequency behind the filter."""
        half_turn = math.pi * hz * STEP_S
        if half_turn < _SETTLED:
            return 1.0
        return abs(math.sin(self._count * half_turn) / (self._count * math.sin(half_turn)))


def noise_gain(smoothing: Filter) -> float:
    """Standard deviation of white noise (one value a step) behind a fresh filter, per unit.

    Uses the filter up: it is fed one impulse and its answer summed in quadrature.
    """
    total, tail, value = 0.0, 0, 1.0
    while tail < 2.0 / STEP_S:  # no filter here is silent for 2 s and then answers
        answer = smoothing.step(value)
        value = 0.0
        total += answer * answer
        tail = 0 if abs(answer) > _SETTLED else tail + 1
    return math.sqrt(total)


class Wander:
    """A value that strays from zero and is drawn back to it (Ornstein-Uhlenbeck process)."""

    def __init__(self, spread: float, memory_s: float, every_s: float, rng: Random) -> None:
        """Start at a random point of its long run.

        Args:
            spread: Its standard deviation in the long run.
            memory_s: After how long it is drawn back, s.
            every_s: Time between two calls of :meth:`step`, s.
            rng: Source of chance.
        """
        self._keep = math.exp(-every_s / memory_s)
        self._kick = spread * math.sqrt(1.0 - self._keep**2)
        self._rng = rng
        self._value = rng.gauss(0.0, spread)

    def step(self) -> float:
        """The next value."""
        self._value = self._keep * self._value + self._rng.gauss(0.0, self._kick)
        return self._value
