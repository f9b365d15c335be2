"""When is the pan at rest, at what level, and how well is that level known?

By turns the pan moves (:mod:`scaled.core.movement`) and stands (:mod:`scaled.core.standing`).
"""

from __future__ import annotations

import math

from scaled.core.level import Level
from scaled.core.movement import Movement
from scaled.core.newest import every_s
from scaled.core.noise import Grain
from scaled.core.pace import Pace
from scaled.core.rest import Phase, Rest
from scaled.core.rise import Rises
from scaled.core.standing import Standing


class Settler:
    """Follows the weight reading by reading and tells where it rests.

    Args:
        division_g: Smallest displayed step, g.
    """

    __slots__ = ("_grain", "_left_g", "_movement", "_pace", "_rises", "_standing")

    def __init__(self, division_g: float) -> None:
        self._grain = Grain.of(division_g)
        self._movement = Movement(self._grain)
        self._standing: Standing | None = None
        self._left_g = -math.inf
        self._pace = Pace()
        self._rises = Rises()

    @property
    def division_g(self) -> float:
        """Smallest displayed step, g; may become known better."""
        return self._grain.division_g

    @division_g.setter
    def division_g(self, division_g: float) -> None:
        self._grain.division_g = division_g

    @property
    def resting(self) -> bool:
        """The pan is at rest and the last reading agreed."""
        return self._standing is not None and self._standing.stray is None

    @property
    def firm(self) -> bool:
        """The level of the rest under way, or of the last one, gets no sharper while it lasts."""
        return self._standing is None or self._standing.refined

    @property
    def left(self) -> bool:
        """The pan is not at rest, and was seen away from where it rested last."""
        return self._standing is None and self._movement.left

    @property
    def provisional(self) -> Level | None:
        """Where a moving weight seems to come to rest, known roughly and before it is settled.

        None at rest, and while that cannot be said.
        """
        return self._movement.provisional if self._standing is None else None

    def read(
        self, t: float, weight_g: float, stable: bool | None = None
    ) -> tuple[Phase, Rest] | None:
        """Take one reading; tell when a rest began, got sharper or ended.

        Args:
            t: Time of the reading, s; not before the last one.
            weight_g: Weight shown, g, finite.
            stable: The scale's own stability mark, None when it has none.
        """
        standing = self._standing
        if standing is None:
            return self._moving(t, weight_g, stable)
        phase = standing.read(t, weight_g)
        if phase is None:
            return None
        if phase is Phase.ENDED:
            self._standing = None
            self._left_g = standing.rest.level_g
            self._movement = Movement(
                self._grain,
                standing.agreed_s,
                standing.pause_s,
                self._left_g,
                standing.leaving(),
            )
        return phase, standing.rest

    def _moving(self, t: float, weight_g: float, stable: bool | None) -> tuple[Phase, Rest] | None:
        rest = self._movement.read(t, weight_g, stable)
        if rest is None:
            return None
        reading_s = every_s(self._movement.samples)
        rest = rest._replace(load_abrupt=self._pace.abrupt(reading_s))
        if not rest.settled:
            return Phase.PASSED, rest
        took_s = self._movement.took_s(rest.level_g)
        if took_s is not None:
            rest = rest._replace(slow=self._rises.slow(took_s))
            self._grain.learn_lag(self._rises.lag_s(reading_s))
        if rest.left_g == self._left_g:
            self._pace.learn(rest, self._grain.division_g)
        readings = (s for s in self._movement.samples if s[0] >= rest.begin_s)
        self._standing = Standing(rest, readings, self._grain)
        return Phase.BEGAN, rest
