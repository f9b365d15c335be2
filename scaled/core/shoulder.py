"""Rests too short to settle: places inside a movement where it almost stood still.

A gesture followed by another before the pan came to rest leaves a shoulder in the curve: the
weight slows down and speeds up again. Its level is known roughly, which is enough to tell two
gestures from one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

from scaled.core.newest import Sample, earlier

SPAN_S: Final = 0.2
"""Speed is measured over this long: shorter is noise, longer blurs the shoulder."""
SLOWED: Final = 0.25
"""A shoulder is slower than this share of the movement before it and after it."""
LEAST_SPEED: Final = 25.0
"""Slower movements, in divisions a second, are not gestures."""
TURN_S: Final = 0.35
"""A stop from which the weight turns back is a rest only when it lasts this long: an impact
overshoots and comes back sooner."""
STILL_LEFT_S: Final = 0.15
"""What the scale's filter still holds back at a shoulder, as a time on its speed there."""
FALL_S: Final = 0.2
"""Food comes while the filter still gives way: of what fell in this last part before it,"""
FALLS_ON: Final = 0.5
"""... so much would have followed, give or take as much."""

LEAST_LEFT: Final = 1.0
"""What a shoulder's level is uncertain by at best, in divisions."""
RISING: Final = 0.075
"""Odds that the load did not rest at a stop in a rise,"""
FALLING: Final = 0.4
"""... in a fall,"""
BOTTOM: Final = 0.085
"""... or between a fall and a rise (simulated cooks and scales)."""
TOP_S: Final = 1.0
"""Between a rise and a fall a stop this long is a rest as often as not; a hand, an impact or an
indicator that averages them is the likelier,"""
TOP: Final = 3.5
"""... by so much, as the logarithm of the odds a second, the shorter it is."""


class Stop(NamedTuple):
    """A shoulder: from when to when, at what weight, how well known.

    Attributes:
        doubt: Odds that the load did not rest there.
    """

    begin_s: float
    end_s: float
    level_g: float
    u_g: float
    doubt: float


class Shoulders:
    """Watches one movement.

    Args:
        division_g: Smallest displayed step, g.
    """

    __slots__ = ("_division_g", "_fastest", "_sign", "_since_s", "_slow_at", "_slowest")

    def __init__(self, division_g: float) -> None:
        self._division_g = division_g
        self._fastest = self._sign = 0.0
        self._slowest = self._since_s = math.inf
        self._slow_at = (0.0, 0.0)

    def read(self, window: Sequence[Sample], before: Sample) -> Stop | None:
        """Take the newest reading; tell a stop just left.

        Args:
            window: The newest readings, oldest first.
            before: The one ``SPAN_S`` before the last.
        """
        t, weight_g = window[-1]
        speed = (weight_g - before[1]) / (t - before[0])
        fast = abs(speed)
        if fast > self._fastest and self._slowest == math.inf:
            self._start(fast, math.copysign(1.0, speed))
        elif fast < SLOWED * self._fastest and fast < self._slowest:
            self._since_s = min(self._since_s, t)
            self._slowest, self._slow_at = fast, window[-1]
        elif self._left(fast):
            return self._stop(speed, window)
        return None

    def _left(self, fast: float) -> bool:
        """Whether the weight is fast again after it was slow."""
        if self._slowest == math.inf:
            return False
        again = max(self._slowest / SLOWED, LEAST_SPEED * self._division_g)
        return fast > again and self._fastest > LEAST_SPEED * self._division_g

    def _stop(self, speed: float, window: Sequence[Sample]) -> Stop | None:
        now_s, (slow_s, level_g) = window[-1][0], self._slow_at
        onward = speed * self._sign > 0
        left_g = self._slowest * STILL_LEFT_S
        level_g += self._sign * left_g if onward else 0.0
        fall = _to_lowest(window, slow_s - SPAN_S)
        falls_g = falls_on_g(fall)
        if speed > 0 and falls_g > 0:
            level_g, left_g = fall[-1][1] - falls_g, falls_g
        stop = Stop(
            self._since_s, now_s, level_g,
            math.hypot(left_g + LEAST_LEFT * self._division_g, self._division_g),
            self._doubt(now_s - self._since_s, onward=onward),
        )  # fmt: skip
        lasted_s = now_s - self._since_s
        self._start(abs(speed), math.copysign(1.0, speed))
        return stop if onward or lasted_s >= TURN_S else None

    def _doubt(self, lasted_s: float, *, onward: bool) -> float:
        if self._sign < 0:
            return FALLING if onward else BOTTOM
        return RISING if onward else math.exp(TOP * (TOP_S - lasted_s))

    def _start(self, fastest: float, sign: float) -> None:
        self._fastest, self._sign = fastest, sign
        self._slowest, self._since_s = math.inf, math.inf
        self._slow_at = (0.0, 0.0)


def falls_on_g(fall: Sequence[Sample]) -> float:
    """How far a fall would have come below its last reading, g; as uncertain as it is large."""
    before = earlier(fall, FALL_S)
    return FALLS_ON * max(before[1] - fall[-1][1], 0.0) if before else 0.0


def _to_lowest(window: Sequence[Sample], since_s: float) -> list[Sample]:
    """Readings up to the lowest one since then."""
    low = min((one for one in window if one[0] >= since_s), key=lambda one: one[1])
    return [one for one in window if one[0] <= low[0]]
