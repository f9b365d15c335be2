"""The foot of a rise: food that came slowly before it, too little and too short to settle.

A crumb more of the last ingredient just before the next one shows as a slow beginning that slows
down once more. Its level is known roughly, which is enough to ask whose food it was.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final, NamedTuple

from scaled.core.newest import Sample
from scaled.core.noise import Grain
from scaled.core.shoulder import LEAST_SPEED, SPAN_S, STILL_LEFT_S, Stop

HIGH: Final = 1.5
"""A foot is this many divisions above the level that the movement left,"""
HIGH_NOISE: Final = 4.0
"""... and this many standard deviations of the noise."""
LASTS_S: Final = 0.35
"""A scale's filter makes a foot before every rise: what came by itself lasts longer,"""
STEEPER: Final = 3.0
"""... the rise after it is so many times as fast; after a filter's own it is twice as fast,"""
SLOWED: Final = 1.3
"""... and its beginning was so many times as fast as its slowest part."""
LEAST_LEFT: Final = 2.0
"""What its level is uncertain by at best, in divisions."""
DOUBT: Final = 0.17
"""Odds that the load did not rest there: it did in six of seven (simulated cooks and scales)."""


class _Stretch(NamedTuple):
    """Weight between two readings about ``SPAN_S`` apart."""

    begin: Sample
    end: Sample

    @property
    def speed(self) -> float:
        """In g/s, upwards."""
        return (self.end[1] - self.begin[1]) / (self.end[0] - self.begin[0])


class Foot:
    """Watches one movement.

    Args:
        grain: The scale's.
        told_s: Time of the last reading at the level that the movement left; infinitely long
            ago when it left none.
        told_g: That level, g.
    """

    __slots__ = ("_grain", "_told_g", "_told_s")

    def __init__(self, grain: Grain, told_s: float, told_g: float) -> None:
        self._grain = grain
        self.told(told_s, told_g)

    def told(self, at_s: float, level_g: float) -> None:
        """A level was told, by whomever: look for what rises from it."""
        self._told_s, self._told_g = at_s, level_g

    def read(self, window: Sequence[Sample], began: Sample) -> Stop | None:
        """Take the newest reading; tell a foot just left.

        Args:
            window: The newest readings, oldest first.
            began: The one ``SPAN_S`` before the last.
        """
        now_s, now_g = window[-1]
        if not LASTS_S < now_s - self._told_s < math.inf or now_g - self._told_g < self._least_g:
            return None
        lasted_s, high_g = began[0] - self._told_s, began[1] - self._told_g
        if lasted_s < LASTS_S or high_g < self._least_g:
            return None
        rise = _Stretch(began, window[-1])
        if rise.speed < LEAST_SPEED * self._grain.division_g:
            return None
        foot = [one for one in window if self._told_s <= one[0] <= began[0]]
        if rise.speed * lasted_s < STEEPER * high_g or self._fell(foot):
            return None
        return self._stop(list(_stretches(foot)), rise.end[0])

    @property
    def _least_g(self) -> float:
        return max(HIGH * self._grain.division_g, HIGH_NOISE * self._grain.noise_g)

    def _fell(self, foot: Sequence[Sample]) -> bool:
        """Whether a hand or an impact came and went."""
        peak_g = -math.inf
        for _, weight_g in foot:
            if weight_g < peak_g - self._least_g:
                return True
            peak_g = max(peak_g, weight_g)
        return False

    def _stop(self, stretches: Sequence[_Stretch], now_s: float) -> Stop | None:
        high = [s for s in stretches if s.end[1] - self._told_g >= self._least_g]
        if not high:
            return None
        slowest = min(high, key=lambda stretch: abs(stretch.speed))
        before = max(s.speed for s in stretches if s.end[0] <= slowest.end[0])
        if before < SLOWED * abs(slowest.speed):
            return None
        left_g = slowest.speed * STILL_LEFT_S
        division_g = self._grain.division_g
        u_g = math.hypot(abs(left_g) + LEAST_LEFT * division_g, division_g)
        stop = Stop(slowest.begin[0], now_s, slowest.end[1] + left_g, u_g, DOUBT)
        self.told(now_s, stop.level_g)
        return stop


def _stretches(samples: Sequence[Sample]) -> Iterator[_Stretch]:
    """The shortest stretch of about ``SPAN_S`` that each reading ends, oldest first."""
    place = 0
    for end in samples:
        while place + 1 < len(samples) and end[0] - samples[place + 1][0] >= SPAN_S * 0.95:
            place += 1
        if end[0] - samples[place][0] >= SPAN_S * 0.95:
            yield _Stretch(samples[place], end)
