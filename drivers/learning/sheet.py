"""The frames of a lesson beside what was on the pan: what all inference looks at."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Final

from drivers.learning.lesson import Deed
from scaled.core.reading import GRAMS, Unit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drivers.learning.lesson import Phase

SLACK: Final = 0.03
"""Share by which a shown weight may differ from the known one: kitchen weights and scales that
nobody adjusted are within it, and no two units are nearer to each other."""

_STEPS: Final = 5
"""Steps that a known weight must show at least, or its unit cannot be told."""

_RUN: Final = 4
"""Equal frames in a row that count as a rest: a key or a moving load passes sooner."""


@dataclass(frozen=True, slots=True)
class Rest:
    """Frames, from one number up to another, in which the same stood for a while."""

    first: int
    last: int
    phase: Phase


@dataclass(frozen=True, slots=True)
class Sheet:
    """Frames without their checksum, oldest first, each with its phase."""

    texts: Sequence[str]
    phases: Sequence[Phase]

    def rests(self) -> list[Rest]:
        """What was shown at the end of each phase and, of a unit key, after each press."""
        rests = []
        for phase, group in groupby(range(len(self.texts)), lambda i: self.phases[i]):
            indices = list(group)
            runs = self._runs(indices)
            if phase.deed is Deed.UNIT_KEY:
                rests += [Rest(run[0], run[-1], phase) for run in runs if len(run) >= _RUN]
            elif runs:
                longest = max(runs[-3:], key=len)
                rests.append(Rest(longest[0], longest[-1], phase))
        return rests

    def _runs(self, indices: Sequence[int]) -> list[list[int]]:
        return [list(group) for _, group in groupby(indices, lambda i: self.texts[i])]


def units_of(number: float, phase: Phase, step: float) -> list[Unit]:
    """The units in which this number may be what stood on the pan; ``step``: its last place.

    With nothing on the pan a number near zero may be in any unit.
    """
    if phase.deed is Deed.EMPTY:
        return list(Unit) if abs(number) <= 5 * step else []
    if abs(number) < _STEPS * step:
        return []
    load_g = abs(phase.load_g)
    return [
        unit
        for unit in Unit
        if abs(abs(number) * GRAMS[unit] - load_g) <= max(SLACK * load_g, step * GRAMS[unit] / 2)
    ]
