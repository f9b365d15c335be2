"""When is the pan at rest, at what level, and how well is that level known?

One idea: the newest readings that stay within a narrow range are a candidate; a straight line
through them tells whether they still move. The level is their mean, its standard uncertainty
is counted from noise, display rounding and what movement is left.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from enum import Enum
from statistics import median
from typing import Final

from scaled.core.verdict import RESOLUTION_SHARE

LEAST_SPAN_S: Final = 0.30
"""Shortest rest that counts: a scoop's impact and ring-down can pause for 0.2 s."""
LEAST_READINGS: Final = 3
"""Two readings always lie on a line: a third is needed to see movement."""
SLOWEST_LAG_S: Final = 0.35
"""What a kitchen indicator's filter still holds back, as a time on the present slope."""
LEFT_TO_MOVE: Final = 0.30
"""Movement still to come that is accepted, in divisions."""
RANGE: Final = 2.0
"""Readings of one rest stay within this many divisions (rounding flips by one, noise by one)."""
NOISE_RANGE: Final = 6.0
"""... or within this many standard deviations, on a noisy pan."""
DITHERED_SHARE: Final = 0.20
"""Rounding's share in divisions when noise spreads readings over more than one step."""
LEFT_BREAK: Final = 1.5
"""A reading further than this from the level, in divisions, is not part of the rest."""
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
RESTLESS_S: Final = 1.5
"""After moving this long, ask whether it is noise rather than movement."""
NOISE_KEEP: Final = 0.85
"""Weight of what was known of the noise against one new rest."""


class Phase(Enum):
    """What a reading did to the rest."""

    BEGAN = "began"
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
    """

    begin_s: float
    at_s: float
    level_g: float
    u_g: float


class Settler:
    """Follows the weight reading by reading and tells where it rests.

    Args:
        division_g: Smallest displayed step, g.
    """

    __slots__ = ("_begun_s", "_moving_s", "_noise_g", "_refined", "_rest", "_strays", "_window",
                 "division_g")  # fmt: skip

    def __init__(self, division_g: float) -> None:
        self.division_g = division_g
        self._window: deque[tuple[float, float]] = deque()
        self._noise_g = 0.3 * division_g
        self._rest: Rest | None = None
        self._begun_s = 0.0
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
            noise = max(noise, self._second_difference_noise())
        still = self._still_part(max(RANGE * self.division_g, NOISE_RANGE * noise))
        rest = self._judge(still, t, noise)
        if rest is None:
            return None
        self._rest, self._begun_s, self._refined, self._strays = rest, t, False, 0
        self._moving_s = None
        return Phase.BEGAN, rest

    def _still_part(self, widest_g: float) -> list[tuple[float, float]]:
        """The newest readings that stay within ``widest_g``, newest first."""
        part: list[tuple[float, float]] = []
        low = high = self._window[-1][1]
        for sample in reversed(self._window):
            weight = sample[1]
            if weight < low:
                low = weight
            elif weight > high:
                high = weight
            if high - low > widest_g:
                break
            part.append(sample)
        return part

    def _judge(self, part: list[tuple[float, float]], t: float, noise_g: float) -> Rest | None:
        """The rest these readings are, None when they are too few or still move."""
        n = len(part)
        if n < LEAST_READINGS:
            return None
        begin = part[-1][0]
        span = t - begin
        if span < LEAST_SPAN_S:
            return None
        mean, slope, spread = _line(part)
        left = abs(slope) * min(SLOWEST_LAG_S, span)
        if left > LEFT_TO_MOVE * self.division_g + noise_g / math.sqrt(n):
            return None
        u = self._uncertainty(n, max(noise_g, spread), spread, left)
        if u > max(0.5 * self.division_g, 0.2, noise_g):
            return None
        return Rest(begin, t, mean, u)

    def _uncertainty(self, n: int, noise_g: float, spread_g: float, left_g: float) -> float:
        """Standard uncertainty of a mean of ``n`` readings, g (JCGM 100, 5.1.2).

        Filtered readings repeat each other: about every second one counts.
        """
        dithered = spread_g > 0.3 * self.division_g
        rounding = (DITHERED_SHARE if dithered else RESOLUTION_SHARE) * self.division_g
        scatter = noise_g / math.sqrt(max(1.0, n / 2)) if dithered else 0.0
        return math.sqrt(scatter * scatter + rounding * rounding + left_g * left_g / 3)

    def _at_rest(self, t: float, weight_g: float, rest: Rest) -> tuple[Phase, Rest] | None:
        limit = max(LEFT_BREAK * self.division_g, 5 * self._noise_g)
        if abs(weight_g - rest.level_g) > limit:
            self._strays += 1
            return self._end(t, rest) if self._strays > 1 else None
        if self._strays:
            # One reading alone was off: garbled, not a movement.
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
            if newest - t > 0.45:
                break
            total += weight
            n += 1
        if n < LEAST_READINGS:
            return False
        walk = abs(total / n - rest.level_g)
        return walk > WALK * self.division_g + 2.5 * self._noise_g / math.sqrt(n)

    def _end(self, t: float, rest: Rest) -> tuple[Phase, Rest]:
        booked = self._book(rest, t - TAIL_S)
        self._learn_noise(rest.begin_s, t - TAIL_S)
        self._rest = None
        while self._window and self._window[0][0] <= t - TAIL_S:
            self._window.popleft()
        return Phase.ENDED, booked

    def _book(self, rest: Rest, until_s: float) -> Rest:
        """The rest's level from its readings up to ``until_s``; as declared when too few."""
        since = max(rest.begin_s, until_s - BOOKED_S)
        part = [s for s in self._window if since <= s[0] <= until_s]
        if len(part) < LEAST_READINGS or until_s < rest.at_s:
            return rest
        mean, slope, spread = _line(part)
        left = abs(slope) * SLOWEST_LAG_S
        u = self._uncertainty(len(part), max(self._noise_g, spread), spread, left)
        return Rest(rest.begin_s, rest.at_s, mean, min(u, rest.u_g))

    def _learn_noise(self, since_s: float, until_s: float) -> None:
        part = [s for s in self._window if since_s <= s[0] <= until_s]
        if len(part) >= 5:
            _, _, spread = _line(part)
            kept = NOISE_KEEP * self._noise_g**2 + (1 - NOISE_KEEP) * spread**2
            self._noise_g = max(math.sqrt(kept), 0.1 * self.division_g)

    def _second_difference_noise(self) -> float:
        """Noise from second differences, blind to level and slope, g.

        For white noise of deviation s they have deviation s sqrt(6); the median of the
        absolute values is 0.6745 of that (normal distribution).
        """
        w = [weight for _, weight in self._window][-24:]
        bends = [abs(a - 2 * b + c) for a, b, c in zip(w, w[1:], w[2:], strict=False)]
        return median(bends) / (0.6745 * math.sqrt(6)) if bends else 0.0


def _line(part: list[tuple[float, float]]) -> tuple[float, float, float]:
    """Mean, least-squares slope per second and residual deviation of at least two samples."""
    n = len(part)
    mean_t = sum(t for t, _ in part) / n
    mean = sum(w for _, w in part) / n
    stt = stw = sww = 0.0
    for t, w in part:
        dt, dw = t - mean_t, w - mean
        stt += dt * dt
        stw += dt * dw
        sww += dw * dw
    slope = stw / stt if stt > 0 else 0.0
    return mean, slope, math.sqrt(max(0.0, sww - slope * stw) / max(1, n - 2))
