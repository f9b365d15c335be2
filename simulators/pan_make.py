"""How a simulated scale is built and where it stands."""

from __future__ import annotations

from dataclasses import dataclass, replace
from random import Random
from typing import Final, Self

from simulators.display import Division
from simulators.mechanics import Filter, LowPassPair, MovingAverage, Resonance

RATES_HZ: Final = (5, 10, 20)
"""Readings a second a scale may send."""

_MOST_SHAKING: Final = 20.0
"""Largest vibration on the pan, in divisions: where the filter hides it almost wholly."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PanMake:
    """How one scale is built and where it stands.

    Attributes:
        division: Smallest displayed step.
        rate_hz: Readings a second: 5, 10 or 20.
        natural_hz: Natural frequency of load cell and platter, Hz; 8 to 25 is usual.
        damping: Its damping ratio, above 0 and below 1.
        low_pass_s: Time constant of each of two cascaded low-passes, s; 0.04 to 0.25.
        average_s: Moving average instead of the low-passes, s; 0.2 to 1. None: low-passes.
        noise_g: Standard deviation of a reading at rest before rounding, g.
        vibration_g: Amplitude of the bench's shaking as a force on the pan, g.
        vibration_hz: Its frequency, Hz; 5 to 30.
        draught_g: Standard deviation of what moving air adds, g.
        drift_g: Standard deviation of the slow drift of zero, g.
        stable_s: The scale marks a reading stable when all displayed for so long, s, lie
            within one division of it; None: it has no such mark.
        capacity_g: Heaviest load it weighs, g.
        span: What it shows of a load in the middle, as a share; 1 on a good scale.
        tilt: Share by which it shows a load at the right edge heavier, at the left lighter.
        friction_g: Each new load is shown off by anything up to this, either way, g.
    """

    division: Division
    rate_hz: int = 10
    natural_hz: float = 14.0
    damping: float = 0.1
    low_pass_s: float = 0.08
    average_s: float | None = None
    noise_g: float = 0.0
    vibration_g: float = 0.0
    vibration_hz: float = 12.0
    draught_g: float = 0.0
    drift_g: float = 0.0
    stable_s: float | None = 0.7
    capacity_g: float = 15_000.0
    span: float = 1.0
    tilt: float = 0.0
    friction_g: float = 0.0

    @classmethod
    def draw(cls, division: Division, rate_hz: int, rng: Random) -> Self:
        """Some scale out of those found in kitchens.

        The noise, the shaking and the draught at the display stay within half a division
        each, as on a scale worth reading; the drift within about one in a whole shift.
        """
        d = division.size_g
        make = cls(
            division=division,
            rate_hz=rate_hz,
            natural_hz=rng.uniform(8.0, 25.0),
            damping=rng.uniform(0.05, 0.2),
            low_pass_s=rng.uniform(0.04, 0.25),
            average_s=rng.uniform(0.2, 1.0) if rng.random() < 0.4 else None,
            noise_g=rng.uniform(0.05, 0.3) * d,
            vibration_hz=rng.uniform(5.0, 30.0),
            draught_g=rng.uniform(0.0, 0.15) * d,
            drift_g=rng.uniform(0.0, 0.5) * d,
            stable_s=rng.uniform(0.5, 1.0),
        )
        shaking = rng.uniform(0.0, 0.4) * d
        return replace(make, vibration_g=min(shaking / make.vibration_gain, _MOST_SHAKING * d))

    def smoothing(self) -> Filter:
        """A fresh indicator filter."""
        if self.average_s is None:
            return LowPassPair(self.low_pass_s)
        return MovingAverage(self.average_s)

    @property
    def vibration_gain(self) -> float:
        """Amplitude of the shaking at the display, per unit on the pan."""
        hz = self.vibration_hz
        return Resonance(self.natural_hz, self.damping).gain(hz) * self.smoothing().gain(hz)
