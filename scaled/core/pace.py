"""How often a moved load looks abrupt on this scale: never, where its filter takes time.

A key makes the display jump from one reading to the next. So does a load on a fast scale that
sends few readings; what is set down shows which kind of scale it is.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from scaled.core.rest import ABRUPT_LOAD, Rest

BEFOREHAND: Final = 0.1
"""Loads that what is known beforehand counts for: a scale shows all of them abruptly, or none."""
LARGE: Final = 10.0
"""Loads of so many divisions tell: a smaller one is there in a reading or two anyway."""


@dataclass(slots=True)
class Pace:
    """What was seen of it; set down only, since no key makes the display rise over the pan."""

    _seen: int = 0
    _abrupt: int = 0

    @property
    def abrupt(self) -> float:
        """Probability that a moved load looks abrupt."""
        return (BEFOREHAND * ABRUPT_LOAD + self._abrupt) / (BEFOREHAND + self._seen)

    def learn(self, left_g: float, rest: Rest, division_g: float) -> None:
        """Take a rest and the level before it."""
        if LARGE * division_g < rest.level_g - left_g < float("inf"):
            self._seen += 1
            self._abrupt += rest.abrupt
