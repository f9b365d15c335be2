"""The lowest weight between a level that was told and the rise after it.

Food does not leave by itself: when the display falls below a level and then rises above it, a
hand or the filter still held that level up, and what was added next came onto the valley.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from scaled.core.newest import Sample
from scaled.core.noise import Grain
from scaled.core.shoulder import BOTTOM, Stop, falls_on_g

DEEP: Final = 2.0
"""A valley is this many divisions below the level told before,"""
DEEP_NOISE: Final = 6.0
"""... and this many standard deviations of the noise."""
LONELY: Final = 10.0
"""One reading alone that is so many times as far off as those beside it are apart is garbled: no
load goes and comes back between two readings."""


class Valley:
    """Watches one movement.

    Args:
        grain: The scale's.
        told_g: The level that the movement left, g.
    """

    __slots__ = ("_bottom", "_falls_g", "_grain", "_told_g")

    def __init__(self, grain: Grain, told_g: float) -> None:
        self._grain = grain
        self.told(told_g)

    def told(self, level_g: float) -> None:
        """A level was told, by whomever: look for what falls below it."""
        self._told_g = level_g
        self._bottom = (0.0, math.inf)
        self._falls_g = 0.0

    def read(self, window: Sequence[Sample]) -> Stop | None:
        """Take the newest reading, last in ``window``, oldest first; tell a valley just left."""
        t, weight_g = window[-1]
        _, bottom_g = self._bottom
        if weight_g <= bottom_g:
            self._bottom = t, weight_g
            self._falls_g = falls_on_g(window)
            return None
        division_g = self._grain.division_g
        deep_g = max(DEEP * division_g, DEEP_NOISE * self._grain.noise_g)
        if bottom_g > self._told_g - deep_g:
            return None
        if _is_lonely(window, deep_g):
            self.told(self._told_g)
        elif weight_g >= self._told_g + deep_g:
            return self._stop(t)
        return None

    def _stop(self, now_s: float) -> Stop:
        begin_s, bottom_g = self._bottom
        left_g = self._falls_g
        stop = Stop(
            begin_s, now_s, bottom_g - left_g, math.hypot(left_g, self._grain.division_g), BOTTOM
        )
        self.told(stop.level_g)
        return stop


def _is_lonely(window: Sequence[Sample], apart_g: float) -> bool:
    """Whether one reading alone was off, and far for how near those beside it are: garbled."""
    if len(window) < 3:
        return False
    before_g, off_g, after_g = window[-3][1], window[-2][1], window[-1][1]
    depth_g = min(before_g, after_g) - off_g
    return depth_g > max(apart_g, LONELY * abs(after_g - before_g))
