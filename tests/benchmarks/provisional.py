"""How soon the engine tells roughly where a moving weight is going, and how well."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

from scaled.core.intake import Intake
from scaled.core.reading import Reading
from scaled.core.settle import Settler
from tests.benchmarks.rests import TrueRest

NEAR_D: Final = 1.5
"""A rough weight this close to the true one, in divisions, is of use,"""
NEAR_G: Final = 0.5
"""... or this close, g."""


@dataclass(frozen=True, slots=True)
class Rough:
    """A rough word: when, what weight, known how well, and whether it was a rest's already."""

    at_s: float
    level_g: float
    u_g: float
    settled: bool


@dataclass
class RoughFigures:
    """How good rough words were.

    Attributes:
        delays_s: From the display's standing still to the word from which all were near.
        errors_u: Words before the rest was settled, off by so many of their uncertainties.
    """

    delays_s: list[float] = field(default_factory=list)
    errors_u: list[float] = field(default_factory=list)

    def add(self, other: RoughFigures) -> None:
        """Count another run in."""
        self.delays_s += other.delays_s
        self.errors_u += other.errors_u


def rough_words(readings: Sequence[Reading], division_g: float) -> Iterator[Rough]:
    """What could be shown at every reading, from the parts the engine's session sees it with."""
    intake, settler = Intake(), Settler(division_g)
    rest: tuple[float, float] | None = None
    for reading in readings:
        weight_g = intake.read(reading)
        if weight_g is None:
            continue
        change = settler.read(reading.t, weight_g, reading.stable)
        if change is not None:
            rest = change[1].level_g, change[1].u_g
        provisional = settler.provisional
        if provisional is not None:
            yield Rough(reading.t, provisional.level_g, provisional.u_g, settled=False)
        elif settler.resting and rest is not None:
            yield Rough(reading.t, *rest, settled=True)


def roughly(words: Sequence[Rough], rests: Sequence[TrueRest]) -> RoughFigures:
    """Hold rough words, in order of time, against the rests asked for."""
    figures, times = RoughFigures(), [word.at_s for word in words]
    for rest in (rest for rest in rests if rest.plain):
        said = words[bisect_left(times, rest.start_s) : bisect_right(times, rest.end_s)]
        near_g = max(NEAR_D * rest.division_g, NEAR_G)
        since_s: float | None = None
        for word in said:
            off_g = abs(word.level_g - rest.level_g)
            if off_g > near_g:
                since_s = None
            elif since_s is None:
                since_s = word.at_s
            if not word.settled:
                figures.errors_u.append(off_g / word.u_g)
        if since_s is not None:
            figures.delays_s.append(since_s - rest.still_s)
    return figures
