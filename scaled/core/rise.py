"""How long the weight takes to come: what is strewn takes longer than what is dropped.

How long a drop takes is the scale's own lag and a little more; what was seen of it on this scale
tells which.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterable
from typing import Final

from scaled.core.newest import Sample

ENDS: Final = (0.1, 0.9)
"""A rise is timed between these shares of it: before and after, the filter creeps."""
SHOOK: Final = 0.5
"""Where it fell meanwhile by this share of it, a hand came and went: that tells no time."""
LARGE: Final = 10.0
"""Rises of so many divisions,"""
LARGE_G: Final = 3.0
"""... of this much, g,"""
LARGE_NOISE: Final = 15.0
"""... and of so many standard deviations of the noise are timed well enough."""
KEPT: Final = 9
"""So many of the newest rises tell the scale's lag:"""
QUICK: Final = 0.25
"""... this share of them are no slower than a drop on it."""
FILTER: Final = math.log(ENDS[1] / ENDS[0])
"""A filter with one time constant takes so many of them between the two ends, for a load set down
at once (its step response is 1 - exp(-t/tau));"""
DROP_S: Final = 0.1
"""... and a drop takes about this long by itself."""
SLIPS: Final = 6
"""Of so many rises one may be quicker than the filter: a slip, or a key. More may be slower, with
a cook who strews."""
ENOUGH: Final = 2
"""One rise alone tells nothing of the filter: a bowl set down with care takes its time."""
LONGEST_LAG_S: Final = 0.8
"""Slower indicators are not for kitchens: it was the cook who took so long."""
LONGER_S: Final = 0.9
"""Three in ten strewn portions take this much longer than a drop; hardly any scoop does (simulated
cooks)."""


def rise_s(samples: Iterable[Sample], since_s: float, from_g: float, to_g: float) -> float | None:
    """How long a rise took.

    Args:
        samples: Readings, oldest first.
        since_s: Only those after this time count.
        from_g: Level that it left.
        to_g: Level that it came to, above that.

    Returns:
        Time from the first reading above its lower end to the last one below its upper end, s;
        None when a hand shook it, or its beginning is not among the readings.
    """
    by_g = to_g - from_g
    low_g, high_g = (from_g + share * by_g for share in ENDS)
    began_s: float | None = None
    took_s, peak_g = 0.0, from_g
    whole = False
    for t, weight_g in samples:
        if t <= since_s:
            whole = True
            continue
        if began_s is None and weight_g >= low_g:
            began_s = t
        elif began_s is not None and weight_g < high_g:
            took_s = t - began_s
        peak_g = max(peak_g, weight_g)
        if weight_g < peak_g - SHOOK * by_g:
            return None
    return took_s if whole else None


class Rises:
    """The newest rises on one scale."""

    __slots__ = ("_newest",)

    def __init__(self) -> None:
        self._newest: deque[float] = deque(maxlen=KEPT)

    def slow(self, took_s: float) -> bool | None:
        """Whether a rise took longer than a drop does; None for the first. It is remembered."""
        quick_s = sorted(self._newest)[int(QUICK * len(self._newest)) :][:1]
        self._newest.append(took_s)
        return took_s - quick_s[0] > LONGER_S if quick_s else None

    def lag_s(self, every_s: float) -> float:
        """Time constant of the scale's filter, s, if it has one; 0 while that is not known.

        Args:
            every_s: How far apart readings are, s: a rise begins and ends between two.
        """
        if len(self._newest) < ENOUGH:
            return 0.0
        quickest_s = sorted(self._newest)[len(self._newest) // SLIPS] + every_s
        return min(max(quickest_s - DROP_S, 0.0) / FILTER, LONGEST_LAG_S)
