"""A straight line through readings, fitted as they come."""

from __future__ import annotations

import math
from collections.abc import Iterable

from scaled.core.newest import Sample


class Line:
    """Least-squares line through readings, added as they come.

    Args:
        origin_s: A time near the readings, for accuracy.
        origin_g: A weight near them.
    """

    __slots__ = ("_st", "_stt", "_stw", "_sw", "_sww", "n", "origin_g", "origin_s")

    def __init__(self, origin_s: float, origin_g: float) -> None:
        self.origin_s = origin_s
        self.origin_g = origin_g
        self.n = 0
        self._st = self._sw = self._stt = self._stw = self._sww = 0.0

    def add(self, samples: Iterable[Sample]) -> None:
        """Add readings, in any order."""
        origin_s, origin_g, n = self.origin_s, self.origin_g, self.n
        st, sw, stt, stw, sww = self._st, self._sw, self._stt, self._stw, self._sww
        for t, weight_g in samples:
            dt, dw = t - origin_s, weight_g - origin_g
            n += 1
            st += dt
            sw += dw
            stt += dt * dt
            stw += dt * dw
            sww += dw * dw
        self.n = n
        self._st, self._sw, self._stt, self._stw, self._sww = st, sw, stt, stw, sww

    @property
    def mean(self) -> float:
        """Mean weight, g."""
        return self.origin_g + self._sw / self.n

    @property
    def deviation(self) -> float:
        """Standard deviation of the weights around their mean, g; 0 below two readings."""
        if self.n < 2:
            return 0.0
        return math.sqrt(max(0.0, self._sww - self._sw * self._sw / self.n) / (self.n - 1))

    @property
    def stt(self) -> float:
        """Sum of squared deviations of time, s²; at least a tiny amount."""
        return max(self._stt - self._st * self._st / self.n, 1e-9)

    @property
    def slope(self) -> float:
        """Slope, g/s."""
        return (self._stw - self._st * self._sw / self.n) / self.stt

    @property
    def spread(self) -> float:
        """Standard deviation of the readings around the line, g; 0 below three readings."""
        if self.n < 3:
            return 0.0
        left = self._sww - self._sw * self._sw / self.n - self.slope**2 * self.stt
        return math.sqrt(max(0.0, left) / (self.n - 2))
