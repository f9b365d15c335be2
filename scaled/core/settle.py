"""When is the pan at rest, at what level, and how well is that level known?

One idea: the newest readings that stay within a narrow range are a candidate; a straight line
through them tells whether they still move. The level is their mean, its standard uncertainty
is counted from noise, display rounding and what movement is left.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass, replace
from enum import Enum
from typing import Final

from scaled.core.budget import RESOLUTION_SHARE
from scaled.core.line import Line
from scaled.core.noise import shaking
from scaled.core.shoulder import Shoulders

LEAST_SPAN_S: Final = 0.30
"""Shortest rest that counts: a scoop's impact and ring-down can pause for 0.2 s."""
SLACK_S: Final = 0.005
"""Readings do not come on the dot."""
LEAST_READINGS: Final = 3
"""Two readings always lie on a line: a third is needed to see movement."""
LONGEST_S: Final = 1.2
"""Longer stretches add nothing to finding a rest's beginning."""
LAG_S: Final = 0.35
"""What a kitchen indicator's filter still holds back, as a time on the present slope."""
LEFT_SHARE: Final = 1 / math.sqrt(3)
"""The movement left is somewhere between none and all of it (JCGM 100, 4.3.7)."""
SETTLED: Final = 0.5
"""A level known to this standard uncertainty, in divisions, is a rest."""
SETTLED_G: Final = 0.2
"""... or to this, g, on a scale finer than the kitchen needs."""
RANGE: Final = 2.0
"""Readings of one rest stay within this many divisions (rounding flips by one, noise by one)."""
NOISE_RANGE: Final = 6.0
"""... or within this many standard deviations, on a noisy pan."""
DITHERED: Final = 0.3
"""Scatter from which noise, not rounding alone, decides what is shown, in divisions."""
DITHERED_SHARE: Final = 0.20
"""Rounding's share in divisions when noise spreads readings over more than one step."""
LEFT_BREAK: Final = 1.5
"""A reading further than this from the level, in divisions, is not part of the rest."""
NOISE_BREAK: Final = 5.0
"""... or than this many standard deviations: noise alone gets there once in a million."""
NEWEST_S: Final = 0.45
"""Length of the newest part: three readings of a slow scale, at 5 a second."""
WALK_NOISE: Final = 2.5
"""... and by this many standard deviations of that mean, which noise does once in eighty."""
WALK: Final = 0.8
"""A rest whose newest readings' mean walked this far, in divisions, is slow pouring."""
REFINE_AFTER_S: Final = 0.6
"""The level may still be improved for this long after a rest was declared, then it holds."""
TAIL_S: Final = 0.6
"""A hand is felt this long before it is seen: the rest is booked without its last part."""
BOOKED_S: Final = 2.0
"""Length of the part of a long rest that is booked."""
MEMORY_S: Final = 4.0
"""Readings older than this are forgotten."""
MOST_READINGS: Final = 1000
"""... and all but so many: five times what the fastest scales send in that time, so that readings
that come in a flood fill no memory."""
RESTLESS_S: Final = 1.5
"""After moving this long, ask whether it is noise rather than movement."""
NOISE_KEEP: Final = 0.85
"""Weight of what was known of the noise against one new rest."""


class Phase(Enum):
    """What a reading did to the rest."""

    BEGAN = "began"
    PASSED = "passed"
    """A shoulder was left behind: a rest too short to settle, its level roughly known."""
    REFINED = "refined"
    ENDED = "ended"


@dataclass(frozen=True, slots=True)
class Rest:
    """A stretch in which the pan was at rest.

    Attributes:
        begin_s: Time of its first reading.
        at_s: Time of the reading that told.
        level_g: Weight on the pan.
        u_g: Standard uncertainty of ``level_g``.
        pause_s: How long the rest before it lasted.
        peak_g: Heaviest weight shown between that rest and this one.
        settled: It lasted long enough to be sure; a shoulder did not.
        abrupt: Its first reading came right after the last rest's: no movement between was
            seen, as when a key makes the display jump.
    """

    begin_s: float
    at_s: float
    level_g: float
    u_g: float
    pause_s: float = 0.0
    peak_g: float = -math.inf
    settled: bool = True
    abrupt: bool = False


class Settler:
    """Follows the weight reading by reading and tells where it rests.

    Args:
        division_g: Smallest displayed step, g.
    """

    __slots__ = (
        "_agreed_s",
        "_begun_s",
        "_moving_s",
        "_noise_g",
        "_pause_s",
        "_refined",
        "_rest",
        "_shoulders",
        "_strays",
        "_window",
        "division_g",
    )

    def __init__(self, division_g: float) -> None:
        self.division_g = division_g
        self._window: deque[tuple[float, float]] = deque(maxlen=MOST_READINGS)
        self._noise_g = 0.3 * division_g
        self._rest: Rest | None = None
        self._begun_s = 0.0
        self._agreed_s = -math.inf
        self._pause_s = 0.0
        self._shoulders = Shoulders(division_g)
        self._refined = False
        self._strays = 0
        self._moving_s: float | None = None

    @property
    def resting(self) -> bool:
        """The pan is at rest and the last reading agreed."""
        return self._rest is not None and self._strays == 0

    def read(self, t: float, weight_g: float) -> tuple[Phase, Rest] | None:
        """Take one reading; tell when a rest began, got sharper or ended.

        Args:
            t: Time of the reading, s; not before the last one.
            weight_g: Weight shown, g, finite.
        """
        window = self._window
        window.append((t, weight_g))
        while t - window[0][0] > MEMORY_S:
            window.popleft()
        return self._moving(t) if self._rest is None else self._at_rest(t, weight_g, self._rest)

    def _moving(self, t: float) -> tuple[Phase, Rest] | None:
        if self._moving_s is None:
            self._moving_s = t
        noise = self._noise_g
        if t - self._moving_s > RESTLESS_S:
            newest = [weight for at, weight in self._window if t - at <= RESTLESS_S]
            noise = max(noise, shaking(newest, self.division_g))
        rest = self._candidate(t, noise)
        if rest is None or rest.u_g > max(SETTLED * self.division_g, SETTLED_G, noise):
            return self._passed(t)
        rest = replace(
            rest, pause_s=self._pause_s, peak_g=self._peak(rest), abrupt=self._abrupt(rest)
        )
        self._rest, self._begun_s, self._refined, self._strays = rest, t, False, 0
        self._moving_s, self._agreed_s = None, t
        return Phase.BEGAN, rest

    def _passed(self, t: float) -> tuple[Phase, Rest] | None:
        stop = self._shoulders.read(self._window)
        if stop is None:
            return None
        rest = Rest(stop.begin_s, t, stop.level_g, stop.u_g, self._pause_s, settled=False)
        self._agreed_s, self._pause_s = stop.end_s, stop.end_s - stop.begin_s
        return Phase.PASSED, rest

    def _abrupt(self, rest: Rest) -> bool:
        between = sum(1 for at, _ in self._window if self._agreed_s < at < rest.begin_s)
        return between == 0 and rest.begin_s - self._agreed_s < LEAST_SPAN_S

    def _peak(self, rest: Rest) -> float:
        between = (g for at, g in self._window if self._agreed_s < at < rest.begin_s)
        return max(between, default=-math.inf)

    def _candidate(self, t: float, noise_g: float) -> Rest | None:
        """The best known level among the newest readings that stay close together."""
        widest_g = max(RANGE * self.division_g, NOISE_RANGE * noise_g)
        line = Line(t, self._window[-1][1])
        low = high = line.origin_g
        best: Rest | None = None
        for at, weight in reversed(self._window):
            low, high = min(low, weight), max(high, weight)
            if high - low > widest_g or t - at > LONGEST_S:
                break
            line.add(at, weight)
            if line.n >= LEAST_READINGS and t - at >= LEAST_SPAN_S - SLACK_S:
                u = self._uncertainty(line, noise_g)
                if best is None or u < best.u_g:
                    best = Rest(at, t, line.mean, u)
        return best

    def _uncertainty(self, line: Line, noise_g: float) -> float:
        """Standard uncertainty of the mean of readings on a line, g (JCGM 100, 5.1.2).

        Filtered readings repeat each other: about every second one counts. A slope that could
        hide in the scatter is taken to be there.
        """
        rounding_g = RESOLUTION_SHARE * self.division_g
        spread, slope = line.spread, abs(line.slope)
        scatter = max(spread, rounding_g)
        left = LAG_S * max(slope, scatter / math.sqrt(line.stt)) * LEFT_SHARE
        if spread > DITHERED * self.division_g:
            rounding_g = DITHERED_SHARE * self.division_g
        else:
            noise_g = 0.0
        noise = max(noise_g, spread if noise_g else 0.0) / math.sqrt(max(1.0, line.n / 2))
        return math.sqrt(noise * noise + rounding_g * rounding_g + left * left)

    def _at_rest(self, t: float, weight_g: float, rest: Rest) -> tuple[Phase, Rest] | None:
        limit = max(LEFT_BREAK * self.division_g, NOISE_BREAK * self._noise_g)
        if abs(weight_g - rest.level_g) > limit:
            self._strays += 1
            return self._end(t, rest) if self._strays > 1 else None
        self._agreed_s = t
        if self._strays:
            # One reading alone was off: garbled, not a movement. It may be forgotten already.
            if len(self._window) > 1:
                del self._window[-2]
            self._strays = 0
        if self._walked(rest):
            return self._end(t, rest)
        if not self._refined and t - self._begun_s >= REFINE_AFTER_S:
            self._refined = True
            self._rest = sharper = self._book(rest, t)
            return Phase.REFINED, sharper
        return None

    def _walked(self, rest: Rest) -> bool:
        """Whether the newest third of a second has left the level."""
        total, n = 0.0, 0
        newest = self._window[-1][0]
        for t, weight in reversed(self._window):
            if newest - t > NEWEST_S:
                break
            total += weight
            n += 1
        if n < LEAST_READINGS:
            return False
        walk = abs(total / n - rest.level_g)
        return walk > WALK * self.division_g + WALK_NOISE * self._noise_g / math.sqrt(n)

    def _end(self, t: float, rest: Rest) -> tuple[Phase, Rest]:
        booked = self._book(rest, t - TAIL_S)
        self._learn_noise(rest.begin_s, t - TAIL_S)
        self._rest = None
        self._shoulders = Shoulders(self.division_g)
        self._pause_s = self._agreed_s - rest.begin_s
        while self._window and self._window[0][0] <= t - TAIL_S:
            self._window.popleft()
        return Phase.ENDED, booked

    def _book(self, rest: Rest, until_s: float) -> Rest:
        """The rest's level from its readings up to ``until_s``; as declared when too few."""
        since = max(rest.begin_s, until_s - BOOKED_S)
        part = [s for s in self._window if since <= s[0] <= until_s]
        if len(part) < LEAST_READINGS or until_s < rest.at_s:
            return rest
        line = Line(until_s, rest.level_g)
        for sample in part:
            line.add(*sample)
        u = self._uncertainty(line, self._noise_g)
        return replace(rest, level_g=line.mean, u_g=min(u, rest.u_g))

    def _learn_noise(self, since_s: float, until_s: float) -> None:
        line = Line(since_s, self._window[-1][1])
        for at, weight in self._window:
            if since_s <= at <= until_s:
                line.add(at, weight)
        if line.n >= 5:
            kept = NOISE_KEEP * self._noise_g**2 + (1 - NOISE_KEEP) * line.spread**2
            self._noise_g = max(math.sqrt(kept), 0.1 * self.division_g)
