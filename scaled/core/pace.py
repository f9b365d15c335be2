"""How often a moved load looks abrupt on this scale: never, where its filter takes time.

A key makes the display jump from one reading to the next. So does a load on a fast scale that
sends few readings; what is moved shows which kind of scale it is.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from scaled.core.rest import ABRUPT_LOAD, Rest

BEFOREHAND: Final = 2.0
"""Loads that what is known beforehand counts for."""
EVERY_S: Final = 0.2
"""Where readings come faster than this, loads look abrupt more rarely: the filter shows,"""
STEEPLY: Final = 3.0
"""... by this power of the time between them."""
AT_MOST: Final = 0.5
"""However slowly readings come, a load may show on its way."""
LARGE: Final = 10.0
"""Loads of so many divisions tell: a smaller one is there in a reading or two anyway."""


@dataclass(slots=True)
class Pace:
    """What was seen of it, but jumps to zero: a key may have made those."""

    _seen: int = 0
    _abrupt: int = 0

    def abrupt(self, every_s: float) -> float:
        """Probability that a moved load looks abrupt, with readings so far apart."""
        share = min(ABRUPT_LOAD * math.pow(every_s / EVERY_S, STEEPLY), AT_MOST)
        return (BEFOREHAND * share + self._abrupt) / (BEFOREHAND + self._seen)

    def learn(self, rest: Rest, division_g: float) -> None:
        """Take a rest to which the pan went without a shoulder on the way."""
        large_g = LARGE * division_g
        keyed = rest.abrupt and abs(rest.level_g) <= large_g
        if rest.abrupt is None or keyed or rest.unseen_s:
            return
        if not large_g < abs(rest.level_g - rest.left_g) < math.inf:
            return
        self._seen += 1
        self._abrupt += rest.abrupt
