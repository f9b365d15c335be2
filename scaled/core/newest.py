"""The newest readings of a scale."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Sequence
from typing import Final

MOST: Final = 1000
"""Readings kept at most: five times what the fastest scales send in the longest span asked for,
so that readings that come in a flood fill no memory."""

Sample = tuple[float, float]
"""Time of a reading, s, and weight, g."""


def every_s(samples: Sequence[Sample]) -> float:
    """How far apart they are on average, s; two or more."""
    return (samples[-1][0] - samples[0][0]) / (len(samples) - 1)


def earlier(samples: Sequence[Sample], by_s: float) -> Sample | None:
    """The newest of them, oldest first, that is at least so long before the last; or None.

    Times are known to a twentieth of that: readings come a little early or late.
    """
    now_s, least_s = samples[-1][0], by_s * 0.95
    for one in reversed(samples):
        if now_s - one[0] >= least_s:
            return one
    return None


class Newest:
    """Readings no older than so long before the last one.

    Args:
        span_s: How long.
        samples: The first of them, oldest first.

    Attributes:
        samples: Oldest first.
    """

    __slots__ = ("_span_s", "samples")

    def __init__(self, span_s: float, samples: Iterable[Sample] = ()) -> None:
        self.samples: deque[Sample] = deque(maxlen=MOST)
        self._span_s = span_s
        for t, weight_g in samples:
            self.add(t, weight_g)

    def forget(self) -> None:
        """Forget them all."""
        self.samples.clear()

    def add(self, t: float, weight_g: float) -> None:
        """Take one reading, not before the last."""
        samples = self.samples
        samples.append((t, weight_g))
        oldest_s = t - self._span_s
        while samples[0][0] < oldest_s:
            samples.popleft()
