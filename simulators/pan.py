"""The simulated scale from the pan to the display; pure and seeded."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Callable
from random import Random
from typing import Final

from simulators.display import Shown, Span
from simulators.mechanics import STEP_S, Resonance, Wander, noise_gain
from simulators.pan_make import PanMake

_DRIFT_MEMORY_S: Final = 300.0
"""Zero drift follows the room's warmth: minutes."""
_DRAUGHT_MEMORY_S: Final = 1.0
"""A draught comes and goes within seconds."""
_ABOVE_DIVISIONS: Final = 9
"""Shown beyond full capacity before the number goes dark (OIML R 76-1: Max + 9 e)."""
_BELOW_DIVISIONS: Final = 20
"""Shown below zero before the number goes dark (common practice, no published source)."""


class Pan:
    """One scale: turns the load on it into displayed weights.

    Time only moves forward, in whole steps of ``STEP_S``; the first reading falls due one
    reading interval after zero.

    Attributes:
        make: How it is built.
        lean: Where the load lies, from -1 at the left edge to 1 at the right; 0 in the middle.
    """

    def __init__(self, make: PanMake, rng: Random) -> None:
        """Start at rest, empty, at time zero.

        Args:
            make: How the scale is built.
            rng: Source of its noise.
        """
        self.make = make
        self.lean = 0.0
        self._rng = rng
        self._cell = Resonance(make.natural_hz, make.damping)
        self._smoothing = make.smoothing()
        self._noise_g = make.noise_g / noise_gain(make.smoothing())
        self._turn = math.tau * make.vibration_hz * STEP_S
        self._phase = rng.uniform(0.0, math.tau)
        every_s = 1.0 / make.rate_hz
        self._drift = Wander(make.drift_g, _DRIFT_MEMORY_S, every_s, rng)
        self._draught = Wander(make.draught_g, _DRAUGHT_MEMORY_S, every_s, rng)
        self._zero_g = -self._drift.step()  # zeroed when it was switched on
        self._drift_g = 0.0
        self._moving_air_g = 0.0
        self._steps_a_reading = round(every_s / STEP_S)
        self._steps = 0
        self._indicated_g = 0.0
        self._tared_g = 0.0
        self._loaded_g = self._stuck_g = 0.0
        self._home = self._division = make.division
        self._recent = deque[float](maxlen=max(1, round((make.stable_s or 0.0) / every_s)))

    @property
    def zero_g(self) -> float:
        """What the last reading showed beyond the load, noise and rounding apart, g.

        The drift of zero less the tare; the display stands at the load plus this.
        """
        return self._drift_g - self._tared_g

    def update(self, t: float, load_g: Callable[[float], float]) -> list[Shown]:
        """Advance to time ``t``, s, and return the readings that fell due, oldest first.

        Args:
            t: Where to advance to; nothing happens when it is not later than before.
            load_g: What rests and pushes on the pan at a time, g; asked once a step, in order.
        """
        shown = []
        until = math.floor(t / STEP_S + 1e-6)
        while self._steps < until:
            self._steps += 1
            self._advance(load_g(self._steps * STEP_S))
            if self._steps % self._steps_a_reading == 0:
                shown.append(self._show())
        return shown

    def press_tare(self) -> None:
        """Make what is indicated now the new zero, at once and without any mechanics."""
        self._tared_g = self._indicated_g + self._drift_g
        self._recent.clear()

    def press_unit(self) -> None:
        """Switch the display between its own unit and the other kind (metric or ounces)."""
        if self._division is self._home:
            self._division = self._home.to("oz" if self._home.unit in {"g", "kg"} else "g")
        else:
            self._division = self._home
        self._recent.clear()

    def _advance(self, load_g: float) -> None:
        make = self.make
        shaking_g = make.vibration_g * math.sin(self._turn * self._steps + self._phase)
        pull_g = self._felt_g(load_g) + shaking_g + self._moving_air_g
        deflection_g = self._cell.step(pull_g)
        noise_g = self._rng.gauss(0.0, self._noise_g)
        self._indicated_g = self._smoothing.step(deflection_g + noise_g)

    def _felt_g(self, load_g: float) -> float:
        """What reaches the load cell of a load."""
        make = self.make
        if make.friction_g and load_g != self._loaded_g:
            self._stuck_g = self._rng.uniform(-make.friction_g, make.friction_g) if load_g else 0.0
            self._loaded_g = load_g
        return load_g * make.span * (1.0 + make.tilt * self.lean) + self._stuck_g

    def _show(self) -> Shown:
        self._moving_air_g = self._draught.step()
        self._drift_g = self._zero_g + self._drift.step()
        gross_g = self._indicated_g + self._drift_g
        d_g = self._division.size_g
        weight = self._division.round(gross_g - self._tared_g)
        span = Span.WITHIN
        if gross_g > self.make.capacity_g + _ABOVE_DIVISIONS * d_g:
            span = Span.ABOVE
        elif gross_g < -_BELOW_DIVISIONS * d_g:
            span = Span.BELOW
        return Shown(
            t=self._steps * STEP_S,
            weight=weight,
            unit=self._division.unit,
            stable=self._stable(float(weight) / float(self._division.size)),
            net=abs(self._tared_g) > d_g,
            span=span,
        )

    def _stable(self, count: float) -> bool | None:
        if self.make.stable_s is None:
            return None
        self._recent.append(count)
        full = len(self._recent) == self._recent.maxlen
        return full and all(abs(past - count) < 1.5 for past in self._recent)
