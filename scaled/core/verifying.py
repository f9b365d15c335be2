"""A check of a scale while it is made: readings in, what to do next out.

Nobody presses anything: a load counts once it lies still, and the next thing is asked for.
"""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from scaled.core.intake import Intake
from scaled.core.load_asked import Asked, Hitch
from scaled.core.rest import Phase
from scaled.core.settle import Settler
from scaled.core.verification import Verification, Weighing, verification_of, weighing_u_g

if TYPE_CHECKING:
    from scaled.core.checkup import Checkup, Lay
    from scaled.core.reading import Reading

HOLD_S: Final = 3.0
"""A weight is taken when it lay still for so long."""
INSIST_S: Final = 10.0
"""One that is oddly far from what was asked for: somebody has had time to see that and to swap it,
so it is the right one and the scale is that wrong."""
RESTLESS_S: Final = 30.0
"""One that never comes to rest is taken as it moves."""
DELAY_S: Final = 5.0
"""A pan that moves for longer is told of: until then it is the hand that lays the weight down."""
NEAR_DIVISIONS: Final = 10
NEAR_SHARE: Final = 0.03
"""Within the larger of these, of a load, a weight is surely the one asked for: a scale this wrong
is rare, and test weights differ by more."""
WIDE_SHARE: Final = 0.25
"""Further off than this share of the load, it is another weight, or the scale is broken."""
ZERO_DIVISIONS: Final = 1.5
"""An empty pan that shows more was not set to zero."""
GAP_S: Final = 2.0
"""After so long without a reading nobody knows what was done to the pan meanwhile."""
_MOST_READINGS: Final = 1000


@dataclass(frozen=True, slots=True)
class _Level:
    """What was shown of an empty or loaded pan, how much it scattered, and whether it rested."""

    shown_g: float
    noise_g: float
    steady: bool


class Verifying:
    """One check under way.

    Attributes:
        taken: The readings up to the last weight taken, oldest first; read again they give the
            same check. Of a long wait only the last thousand are kept.
        shown_g: The weight on the display, None before the first.
    """

    def __init__(self, checkup: Checkup) -> None:
        """Nothing is weighed yet; the pan is to be emptied."""
        self.taken: list[Reading] = []
        self.shown_g: float | None = None
        self._checkup = checkup
        self._intake = Intake()
        self._settler = Settler(checkup.plate.division_g)
        self._window: deque[tuple[float, Reading]] = deque(maxlen=_MOST_READINGS)
        self._waited: deque[Reading] = deque(maxlen=_MOST_READINGS)
        self._levels: list[_Level] = []
        self._rest_s: float | None = None
        self._within_s: float | None = None
        self._hitch: Hitch | None = None

    @property
    def asked(self) -> Asked | None:
        """What is to be done now; None when all is done."""
        of = len(self._checkup.lays)
        place = len(self._levels)
        if place > 2 * of:
            return None
        return Asked(min(place // 2 + 1, of), of, self._lay, self._hitch)

    @property
    def verification(self) -> Verification | None:
        """What came of it; None until all is done."""
        if self.asked is not None:
            return None
        triples = zip(
            self._checkup.lays,
            self._levels[0::2],
            self._levels[1::2],
            self._levels[2::2],
            strict=False,  # there is one zero more
        )
        return verification_of(self._checkup, [self._weighing(*triple) for triple in triples])

    @property
    def errors_g(self) -> tuple[float, ...]:
        """Of each load weighed so far, how much more than it was shown."""
        weighed = zip(self._checkup.lays, self._levels[0::2], self._levels[1::2], strict=False)
        return tuple(loaded.shown_g - zero.shown_g - lay.load_g for lay, zero, loaded in weighed)

    @property
    def lies(self) -> bool:
        """Whether what is asked for seems to be done, and only has to lie still."""
        if self._within_s is None or self.shown_g is None:
            return False
        return self._off_g(self.shown_g) <= self._near_g()

    @property
    def emptied(self) -> bool:
        """Whether the pan rests as it was before the first load, or nothing was weighed yet."""
        if not self._levels or self.shown_g is None:
            return True
        near_g = NEAR_DIVISIONS * self._checkup.plate.division_g
        return self._settler.resting and abs(self.shown_g - self._levels[0].shown_g) <= near_g

    def read(self, reading: Reading) -> None:
        """Take one reading."""
        if self.asked is None:
            return
        self._waited.append(reading)
        weight_g = self._intake.read(reading)
        if weight_g is None:
            return
        self.shown_g, t = weight_g, reading.t
        if self._window and t - self._window[-1][1].t > GAP_S:
            self._begin_anew()
        self._window.append((weight_g, reading))
        while t - self._window[0][1].t > HOLD_S:
            self._window.popleft()
        self._follow(reading, weight_g)
        if self._counts(t):
            self._take()

    def _begin_anew(self) -> None:
        """Count no rest from before the readings stopped."""
        self._settler = Settler(self._checkup.plate.division_g)
        self._rest_s = self._within_s = self._hitch = None
        self._window.clear()

    @property
    def _lay(self) -> Lay | None:
        place = len(self._levels)
        return self._checkup.lays[place // 2] if place % 2 else None

    @property
    def _about_g(self) -> float:
        """The load that was put on last, or is to be put on."""
        place = len(self._levels)
        return self._checkup.lays[max(0, (place - 1) // 2)].load_g

    def _follow(self, reading: Reading, weight_g: float) -> None:
        t = reading.t
        change = self._settler.read(t, weight_g, reading.stable)
        if change is not None and change[0] is Phase.BEGAN:
            self._rest_s = change[1].begin_s
        elif change is not None and change[0] is Phase.ENDED:
            self._rest_s = None
        if self._off_g(weight_g) > WIDE_SHARE * self._about_g:
            self._within_s = None
        elif self._within_s is None:
            self._within_s = t

    def _off_g(self, weight_g: float) -> float:
        """How far from what the pan should weigh now."""
        zero_g = self._levels[0].shown_g if self._levels else 0.0
        lay = self._lay
        return abs(weight_g - zero_g - (lay.load_g if lay else 0.0))

    def _counts(self, t: float) -> bool:
        """Whether what is shown is to be taken; notes what is in the way."""
        resting = self._settler.resting and self._rest_s is not None
        still_s = t - self._rest_s if resting and self._rest_s is not None else 0.0
        if self._within_s is None:
            self._hitch = self._wrong() if still_s >= HOLD_S and self._is_new() else None
            return False
        within_s = t - self._within_s
        off_g = max(self._off_g(weight_g) for weight_g, _ in self._window)
        if min(still_s, within_s) >= HOLD_S and off_g <= self._near_g():
            return True
        if not resting:
            self._hitch = Hitch.MOVING if within_s >= DELAY_S else None
            return within_s >= RESTLESS_S
        self._hitch = self._wrong() if still_s >= HOLD_S and off_g > self._near_g() else None
        return within_s >= INSIST_S and still_s >= HOLD_S

    def _is_new(self) -> bool:
        """Whether the pan was changed since the last weight was taken from it."""
        last_g = self._levels[-1].shown_g if self._levels else 0.0
        shown_g = self._window[-1][0]
        return not self._levels or abs(shown_g - last_g) > self._near_g()

    def _near_g(self) -> float:
        division_g = self._checkup.plate.division_g
        if not self._levels:
            return ZERO_DIVISIONS * division_g
        return max(NEAR_DIVISIONS * division_g, NEAR_SHARE * self._about_g)

    def _wrong(self) -> Hitch:
        if self._lay is not None:
            return Hitch.OTHER_WEIGHT
        return Hitch.NOT_EMPTY if self._levels else Hitch.NOT_ZERO

    def _take(self) -> None:
        shown = [weight_g for weight_g, _ in self._window]
        mean_g = math.fsum(shown) / len(shown)
        scatter_g = math.sqrt(math.fsum((one - mean_g) ** 2 for one in shown) / len(shown))
        # Filtered readings repeat each other: about every second one counts.
        noise_g = scatter_g / math.sqrt(max(1.0, len(shown) / 2))
        self.taken += self._waited
        self._waited.clear()
        self._levels.append(_Level(mean_g, noise_g, self._settler.resting))
        self._within_s = self._hitch = None
        self._window.clear()

    def _weighing(self, lay: Lay, zero: _Level, loaded: _Level, left: _Level) -> Weighing:
        noise_g = math.hypot(zero.noise_g, loaded.noise_g)
        return Weighing(
            trial=lay.trial,
            load_g=lay.load_g,
            spot=lay.spot,
            zero_g=zero.shown_g,
            shown_g=loaded.shown_g,
            left_g=left.shown_g,
            u_g=weighing_u_g(self._checkup, lay, noise_g),
            steady=zero.steady and loaded.steady,
        )
