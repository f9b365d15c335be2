"""The simple tracker a maker would ship: portions from rests, one after another, never unsure.

It knows when the pan is empty, and that what comes back as heavy as it left is the same bowl; all
else that comes on an empty pan is a new container. Each change by more than a couple of divisions
belongs to the open step; one upward opens the next step once the open one holds what passes.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import Final

from scaled.core.events import Attribution, BuildStarted, Event, Lifted, Portion, Returned
from scaled.core.profile import BuildProfile
from scaled.core.verdict import Band
from tests.benchmarks.rests import Told

CHANGED_D: Final = 2.0
"""A smaller change, in divisions, is none."""
U_D: Final = 1 / math.sqrt(6)
"""Standard uncertainty of a difference of two rounded readings (JCGM 100, F.2.2.1)."""
BACK_D: Final = 3.0
"""A bowl that weighs as much as before, to so many divisions, is the same one."""
EMPTY_SHARE: Final = 0.5
"""Share of the container's weight below which the pan is empty."""


class SimpleTracker:
    """Follows the builds of one profile from rest to rest.

    Args:
        profile: What is built.
        division_g: The scale's smallest displayed step, g.
    """

    def __init__(self, profile: BuildProfile, division_g: float) -> None:
        self._empty_g = EMPTY_SHARE * profile.container.tare_g
        self._steps = [
            (step.id, Band.around(step.target_g, step.under_g, step.over_g))
            for step in profile.steps
        ]
        self._division_g = division_g
        self._build = 0
        self._off = True
        self._level_g = 0.0
        self._nets_g = [0.0]

    def rests(self, told: Iterable[Told]) -> Iterator[Event]:
        """What a whole recording's rests mean, as events."""
        t = 0.0
        for rest in told:
            t = rest.at_s
            yield from self.rest(t, rest.level_g)
        yield from self._end(t)

    def rest(self, t: float, level_g: float) -> Iterator[Event]:
        """Take the next rest."""
        was_off, self._off = self._off, level_g < self._empty_g
        food_g = math.fsum(self._nets_g)
        change_g = level_g - self._level_g
        if self._off:
            if self._build and not was_off:
                yield Lifted(t=t, build=self._build, net_g=food_g)
        elif was_off and (not self._build or abs(change_g) > BACK_D * self._division_g):
            yield from self._end(t)
            yield self._begin(t, level_g)
        elif was_off:
            yield Returned(t=t, build=self._build, net_g=food_g, change_g=change_g)
        elif abs(change_g) > CHANGED_D * self._division_g:
            yield from self._change(t, change_g)
            self._level_g = level_g

    def _begin(self, t: float, level_g: float) -> BuildStarted:
        self._nets_g, self._level_g = [0.0], level_g
        self._build += 1
        return BuildStarted(t=t, build=self._build, tare_g=level_g, u_g=self._u_g)

    def _change(self, t: float, change_g: float) -> Iterator[Event]:
        if change_g > 0 and self._full and len(self._nets_g) < len(self._steps):
            yield self._word(t, len(self._nets_g) - 1)
            self._nets_g.append(0.0)
        self._nets_g[-1] += change_g

    @property
    def _full(self) -> bool:
        return self._nets_g[-1] >= self._steps[len(self._nets_g) - 1][1].low_g

    @property
    def _u_g(self) -> float:
        return U_D * self._division_g

    def _end(self, t: float) -> Iterator[Event]:
        """The build is over: the open step and those that got nothing."""
        if not self._build:
            return
        begun = len(self._nets_g)
        self._nets_g += [0.0] * (len(self._steps) - begun)
        for step in range(begun - 1, len(self._steps)):
            yield self._word(t, step)

    def _word(self, t: float, step: int) -> Portion:
        name, band = self._steps[step]
        net_g = self._nets_g[step]
        return Portion(
            t=t,
            build=self._build,
            step=name,
            net_g=net_g,
            u_g=self._u_g,
            verdict=band.judge(net_g),
            confidence=1.0,
            attribution=Attribution.SURE,
            skipped=net_g == 0.0,
        )
