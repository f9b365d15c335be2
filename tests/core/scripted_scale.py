"""A scale that follows its load by the simplest honest physics.

Loads move in straight lines, the display follows them with one lag and rounds. Nothing here is
shared with the simulators: what both agree on does not rest on one model of a scale.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from random import Random

from scaled.core.reading import GRAMS, Reading, Unit


@dataclass(slots=True)
class Scale:
    """A display that follows its load.

    Attributes:
        division: Smallest displayed step, in ``unit``.
        unit: What it shows.
        rate_hz: Readings a second.
        lag_s: Time constant of the display.
        noise_g: Standard deviation of the noise before rounding.
        offset_g: What it shows when empty.
        gain: What it shows of each gram.
        labelled: Whether its readings carry the unit.
        seed: Of the noise.
    """

    division: float = 1.0
    unit: Unit = Unit.G
    rate_hz: float = 10
    lag_s: float = 0.12
    noise_g: float = 0.0
    offset_g: float = 0.0
    gain: float = 1.0
    labelled: bool = True
    seed: int = 0
    load_g: float = 0.0
    shown_g: float = 0.0
    count: int = 0
    _noise: Random = field(init=False)

    def __post_init__(self) -> None:
        self._noise = Random(self.seed)  # noqa: S311 -- noise, not a secret
        self.shown_g = self.load_g

    @property
    def t(self) -> float:
        """Time of the last reading, s."""
        return self.count / self.rate_hz

    def hold(self, for_s: float) -> Iterator[Reading]:
        """The load stays as it is."""
        return self.move(0.0, for_s)

    def move(self, by_g: float, in_s: float) -> Iterator[Reading]:
        """The load changes evenly; readings as they come."""
        readings = max(1, round(in_s * self.rate_hz))
        keep = math.exp(-1 / self.rate_hz / self.lag_s)
        for _ in range(readings):
            self.load_g += by_g / readings
            self.shown_g = self.load_g + (self.shown_g - self.load_g) * keep
            self.count += 1
            yield self._reading()

    def jump(self, by_g: float) -> None:
        """The display jumps without any movement, as when its tare key is pressed."""
        self.offset_g += by_g

    def _reading(self) -> Reading:
        grams = self.gain * self.shown_g + self.offset_g + self._noise.gauss(0.0, self.noise_g)
        steps = math.floor(grams / GRAMS[self.unit] / self.division + 0.5)
        return Reading(self.t, steps * self.division, self.unit if self.labelled else None)
