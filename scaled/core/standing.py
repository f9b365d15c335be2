"""A rest under way: does the pan still stand, and at what level exactly?"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Final

from scaled.core.level import averaged
from scaled.core.line import Line
from scaled.core.newest import Newest, Sample
from scaled.core.noise import Grain
from scaled.core.rest import GAP_S, MEMORY_S, Phase, Rest

LEFT: Final = 1.5
"""A reading further than this from the level, in divisions, is not part of the rest."""
LEFT_NOISE: Final = 5.0
"""... or than this many standard deviations: noise alone gets there once in a million."""
WALK: Final = 0.8
"""A rest whose newest readings' mean walked this far, in divisions, is slow pouring."""
WALK_NOISE: Final = 2.5
"""... and by this many standard deviations of that mean, which noise does once in eighty."""
NEWEST_S: Final = 0.45
"""Length of the newest part: three readings of a slow scale, at 5 a second."""
LEAST_READINGS: Final = 3
"""Fewer readings do not move a rest's level."""
REFINE_AFTER_S: Final = 0.6
"""The level may still be improved for this long after a rest was declared, then it holds."""
TAIL_S: Final = 0.6
"""A hand is felt this long before it is seen: the rest is booked without its last part."""
HEAD_S: Final = 0.3
"""... and without its first, in which the filter gives its last step."""
BOOKED_S: Final = 2.0
"""Length of the part of a long rest that is booked."""
LEAVING_S: Final = 0.3
"""Part of a rest that belongs to the movement after it, whose first speed is measured from it."""


class Standing:
    """One rest.

    Args:
        rest: As it was declared.
        samples: Its readings, oldest first.
        grain: The scale's; learns from the rest when it ends.

    Attributes:
        rest: As it is known now.
        agreed_s: Time of the last reading at its level.
        refined: Its level will get no sharper while it lasts.
        stray: The last reading, if it was off by itself: the first of a movement, or garbled.
    """

    __slots__ = (
        "_declared",
        "_grain",
        "_memory",
        "agreed_s",
        "refined",
        "rest",
        "stray",
    )

    def __init__(self, rest: Rest, samples: Iterable[Sample], grain: Grain) -> None:
        self.rest = self._declared = rest
        self.agreed_s = rest.at_s
        self.stray: Sample | None = None
        self._grain = grain
        self.refined = False
        self._memory = Newest(MEMORY_S, samples)

    @property
    def pause_s(self) -> float:
        """How long it has lasted."""
        return self.agreed_s - self.rest.begin_s

    def leaving(self) -> list[Sample]:
        """The last readings at its level and all since, oldest first."""
        since_s = self.agreed_s - LEAVING_S
        return [sample for sample in self._memory.samples if sample[0] >= since_s]

    def read(self, t: float, weight_g: float) -> Phase | None:
        """Take one reading; tell when the level got sharper or the rest ended."""
        memory, grain = self._memory, self._grain
        seen_s = memory.samples[-1][0]
        if t - seen_s > GAP_S:
            return self._interrupted(seen_s, t, weight_g)
        off_g = abs(weight_g - self.rest.level_g)
        if off_g > LEFT * grain.division_g and off_g > LEFT_NOISE * grain.noise_g:
            return self._strayed(t, weight_g)
        # One reading alone was off: garbled, not a movement.
        self.stray = None
        memory.add(t, weight_g)
        walk_g = WALK * grain.division_g
        if off_g <= walk_g + grain.noise_g:
            self.agreed_s = t
        # Who walks away is furthest off now.
        if off_g > walk_g and self._walked(t):
            return self._end(t)
        if not self.refined and t - self._declared.at_s >= REFINE_AFTER_S:
            self.refined = True
            self._book(t)
            return Phase.REFINED
        return None

    def _interrupted(self, seen_s: float, t: float, weight_g: float) -> Phase:
        """Nobody saw the pan for a while: it is at rest no more, even at the same level."""
        phase = self._end(seen_s)
        self._memory.add(t, weight_g)
        return phase

    def _strayed(self, t: float, weight_g: float) -> Phase | None:
        if self.stray is None:
            self.stray = t, weight_g
            return None
        self._memory.add(*self.stray)
        self._memory.add(t, weight_g)
        return self._end(t)

    def _walked(self, t: float) -> bool:
        """Whether the newest readings together have left the level."""
        level_g, grain = self.rest.level_g, self._grain
        n, sum_g = 0, 0.0
        for at, weight_g in reversed(self._memory.samples):
            if at < t - NEWEST_S:
                break
            n += 1
            sum_g += weight_g - level_g
        if n < LEAST_READINGS:
            return False
        walk_g = abs(sum_g) / n
        return walk_g > WALK * grain.division_g + WALK_NOISE * grain.noise_g / math.sqrt(n)

    def _end(self, t: float) -> Phase:
        self._grain.learn(self._book(min(t - TAIL_S, self.agreed_s)))
        return Phase.ENDED

    def _book(self, until_s: float) -> Line:
        """The rest's level from its readings up to ``until_s``; as declared when too few."""
        since_s = max(self.rest.begin_s + HEAD_S, until_s - BOOKED_S)
        part = [sample for sample in self._memory.samples if since_s <= sample[0] <= until_s]
        line = Line(until_s, self.rest.level_g)
        line.add(part)
        if line.n >= LEAST_READINGS and until_s >= self._declared.at_s:
            level_g, u_g = averaged(line, part[-1][0] - part[0][0], self._grain)
            self.rest = self.rest._replace(level_g=level_g, u_g=u_g)
        return line
