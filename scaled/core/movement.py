"""The pan since it left its last rest: where does it come to rest again?"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final

from scaled.core.foot import Foot
from scaled.core.jump import Jump, passes_zero, to_zero
from scaled.core.level import Level, steadiest
from scaled.core.newest import Newest, Sample, earlier
from scaled.core.noise import Grain, shaking
from scaled.core.rest import GAP_S, MEMORY_S, Rest
from scaled.core.rise import LARGE, LARGE_G, LARGE_NOISE, rise_s
from scaled.core.shoulder import SPAN_S, Shoulders, Stop
from scaled.core.valley import Valley

LEAST: Final = (0.4, 3)
"""Shortest rest that counts, s and readings: a scoop's impact and ring-down can pause for 0.2 s
and a slow filter's last step lasts 0.3 s; a third reading is needed to see movement."""
SETTLED: Final = 0.55
"""A level known to this standard uncertainty, in divisions, is a rest."""
SETTLED_G: Final = 0.1
"""... or to this, g, on a scale finer than the kitchen needs."""
PROVISIONAL_LEAST: Final = (0.15, 2)
"""Shortest stretch, s and readings, that tells roughly where the weight is coming to rest."""
PROVISIONAL: Final = 1.0
"""... when it tells it to this standard uncertainty, in divisions,"""
PROVISIONAL_G: Final = 0.3
"""... or to this, g."""
ABRUPT_S: Final = 0.3
"""A rest later than this after the last one's end was not reached at once."""
SHORT: Final = 2.7
"""On a way of less than this many times what shows no movement, hardly a reading can show one."""
AT_LEVEL: Final = 1.5
"""What lies within so many divisions of a level shows no movement away from it,"""
AT_LEVEL_NOISE: Final = 5.0
"""... or within so many standard deviations of the noise."""
RESTLESS_S: Final = 1.5
"""After moving this long, ask whether it is noise rather than movement."""
BACK: Final = 0.5
"""Showing more than this share of what it jumped from, the display is back there: no key."""
SWING: Final = 0.02
"""The pan still swings at a shoulder: by about this share of what came before it,"""
SWING_MOST_G: Final = 1.5
"""... and by no more than this."""
MARKED_NOISE: Final = 1.0
"""Noise that may hide in readings which the scale itself marks stable, in divisions."""


class Movement:
    """One movement.

    Args:
        grain: The scale's.
        agreed_s: Time of the last reading that agreed with the rest before.
        pause_s: How long that rest lasted.
        left_g: Its level.
        samples: Readings from a little before then, oldest first.

    Attributes:
        left: Something was shown that is not at that rest's level.
        samples: Its newest readings as they are now, oldest first.
    """

    __slots__ = (
        "_again_at",
        "_agreed_s",
        "_aside",
        "_before_g",
        "_began_s",
        "_grain",
        "_halted",
        "_jump",
        "_left_g",
        "_left_s",
        "_left_u_g",
        "_newest",
        "_pause_s",
        "_seen_s",
        "_stood_s",
        "_unmarked",
        "_unseen_s",
        "_watchers",
        "left",
        "samples",
    )

    def __init__(
        self,
        grain: Grain,
        agreed_s: float = -math.inf,
        pause_s: float = 0.0,
        left_g: float = -math.inf,
        samples: Iterable[Sample] = (),
    ) -> None:
        self.left = False
        self._grain = grain
        self._agreed_s = self._stood_s = self._left_s = self._seen_s = agreed_s
        self._left_u_g = 0.0
        self._pause_s = pause_s
        self._left_g = left_g
        self._began_s: float | None = None
        self._unmarked = False
        self._unseen_s = 0.0
        self._again_at = math.inf
        self._before_g: list[float] = []
        self._jump: Jump | None = None
        self._newest = Newest(MEMORY_S)
        self.samples: Sequence[Sample] = self._newest.samples
        self._watchers = self._aside = self._watching(agreed_s, left_g)
        self._halted = False
        for t, weight_g in samples:
            if t <= agreed_s:
                self._newest.add(t, weight_g)
            else:
                self._keep(t, weight_g)

    @property
    def provisional(self) -> Level | None:
        """Where the weight seems to come to rest; None while that cannot be said."""
        if not self.samples:
            return None
        grain = self._grain
        level = steadiest(self.samples, PROVISIONAL_LEAST, grain, self._left_s)
        if level is None or level.u_g > max(PROVISIONAL * grain.division_g, PROVISIONAL_G):
            return None
        return level

    def read(self, t: float, weight_g: float, stable: bool | None) -> Rest | None:
        """Take one reading; tell a rest that was reached, or a shoulder that was left behind."""
        self._keep(t, weight_g)
        if self._began_s is None:
            self._began_s = t
        self._unmarked = self._unmarked or stable is False
        grain = self._grain
        if stable and self._unmarked:
            grain = grain.at_least(MARKED_NOISE * grain.division_g)
        elif t - self._began_s > RESTLESS_S:
            grain = grain.at_least(
                shaking([g for at, g in self.samples if t - at <= RESTLESS_S], grain.division_g)
            )
        level = steadiest(self.samples, LEAST, grain, self._left_s)
        if level is None or level.u_g > max(SETTLED * grain.division_g, SETTLED_G, grain.noise_g):
            return self._passed(t)
        return self._rest(level, t)

    def took_s(self, level_g: float) -> float | None:
        """How long the weight took to rise to this level, s.

        None when it did not rise much, or not in one go and before our eyes.
        """
        by_g = level_g - self._left_g
        grain = self._grain
        large_g = max(LARGE * grain.division_g, LARGE_NOISE * grain.noise_g, LARGE_G)
        large = large_g <= by_g < math.inf
        if not large or self._halted or self._unseen_s or self._jump is not None:
            return None
        return rise_s(self.samples, self._agreed_s, self._left_g, level_g)

    def _keep(self, t: float, weight_g: float) -> None:
        """Take one reading; those from before a gap tell nothing of where the weight is now."""
        if -math.inf < self._seen_s < t - GAP_S:
            self._unseen_s += t - self._seen_s
            self._again_at = t
            self._before_g = self._way(t)
            self._newest.forget()
        self._newest.add(t, weight_g)
        before, self._jump = self._jump, self._jumped_to_zero(weight_g)
        if self._jump is not before:
            if self._jump is None:
                self._watchers = self._aside  # it was none
            else:  # what was shown before is no way that the load went
                self._aside, self._watchers = self._watchers, self._watching(t, 0.0)
        self.left = self.left or abs(weight_g - self._left_g) > self._near_g
        self._seen_s = max(t, self._seen_s)

    def _watching(self, since_s: float, level_g: float) -> tuple[Shoulders, Valley, Foot]:
        """What looks for stops since a level was left."""
        grain = self._grain
        return Shoulders(grain.division_g), Valley(grain, level_g), Foot(grain, since_s, level_g)

    def _jumped_to_zero(self, weight_g: float) -> Jump | None:
        """The jump to zero that the newest reading is, or an earlier one that it leaves as it is.

        One reading alone at zero is garbled, or a load passed there.
        """
        division_g = self._grain.division_g
        jump, before = to_zero(self.samples, division_g), self._jump
        if jump is not None or before is None:
            return jump
        if len(self.samples) < 2 or self.samples[-2][0] != before.at_s:
            return before
        back = weight_g / before.from_g > BACK
        return None if back or passes_zero(before, weight_g, division_g) else before

    def _way(self, until_s: float) -> list[float]:
        """All that was shown on the way."""
        shown = (g for at, g in self.samples if self._agreed_s < at < until_s)
        return [*self._before_g, *shown]

    def _rest(self, level: Level, t: float) -> Rest:
        way = self._way(level.begin_s)
        return Rest(
            *(level.begin_s, t, level.level_g, level.u_g),
            pause_s=self._pause_s,
            left_g=self._left_g,
            peak_g=max(way, default=-math.inf),
            trough_g=min(way, default=math.inf),
            abrupt=self._jumped(level),
            unseen_s=self._unseen_s,
            again_s=max(level.begin_s - self._again_at, 0.0),
            jump=self._jump,
        )

    def _jumped(self, level: Level) -> bool | None:
        """Whether no movement was seen: all shown is at the rest before or at this one.

        None: one may have been missed, because nothing was shown for too long or the way was too
        short to show it.
        """
        near_g = self._near_g
        stood_g = max(near_g, self._left_u_g)
        stood_s, came_s = self._stood_s, level.begin_s
        for t, weight_g in self.samples:
            if self._stood_s < t < level.begin_s:
                if abs(weight_g - self._left_g) <= stood_g:
                    stood_s, came_s = t, level.begin_s
                elif abs(weight_g - level.level_g) > near_g:
                    return False
                else:
                    came_s = min(came_s, t)
        if self._before_g or self._unseen_s:
            return False
        short = abs(level.level_g - self._left_g) < SHORT * near_g
        if short or ABRUPT_S <= came_s - stood_s < math.inf:
            return None
        return level.begin_s - stood_s < ABRUPT_S

    @property
    def _near_g(self) -> float:
        """What lies within this of a level shows no movement away from it."""
        return max(AT_LEVEL * self._grain.division_g, AT_LEVEL_NOISE * self._grain.noise_g)

    def _passed(self, t: float) -> Rest | None:
        if self._unseen_s:
            return None  # what went on unseen is told as a whole
        stop = self._stopped()
        if stop is None:
            return None
        first_s, first_g = next(
            (s for s in self.samples if s[0] > self._agreed_s), self.samples[-1]
        )
        departed = abs(first_g - self._left_g) > self._near_g
        way = self._way(stop.begin_s)
        swing_g = min(SWING * abs(stop.level_g - first_g), SWING_MOST_G)
        rest = Rest(
            *(stop.begin_s, t, stop.level_g, math.hypot(stop.u_g, swing_g)),
            pause_s=self._pause_s,
            left_g=self._left_g,
            peak_g=max(way, default=-math.inf),
            trough_g=min(way, default=math.inf),
            settled=False,
            doubt=stop.doubt,
            jump=None if self._jump is None or self._jump.at_s > stop.begin_s else self._jump,
            abrupt=departed
            and abs(first_g - stop.level_g) < stop.u_g
            and first_s - self._agreed_s < ABRUPT_S,
        )
        self._halted = True
        self._agreed_s, self._pause_s = stop.end_s, stop.end_s - stop.begin_s
        self._left_g, self._left_u_g = stop.level_g, stop.u_g
        self._stood_s = stop.begin_s
        self._jump = None if rest.jump is not None else self._jump
        return rest

    def _stopped(self) -> Stop | None:
        """A shoulder, a valley or a foot that was just left behind."""
        window: Sequence[Sample] = self.samples
        if self._jump is not None:
            window = [one for one in window if one[0] >= self._jump.at_s]
        shoulders, valley, foot = self._watchers
        stop, before = valley.read(window), earlier(window, SPAN_S)
        if before is not None:
            stop = shoulders.read(window, before) or stop or foot.read(window, before)
        if stop is not None:
            valley.told(stop.level_g)
            foot.told(stop.end_s, stop.level_g)
        return stop
