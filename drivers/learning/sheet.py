"""The frames of a lesson beside what was on the pan: what all inference looks at."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby, pairwise
from typing import TYPE_CHECKING, Final

from drivers.learning.lesson import Deed
from scaled.core.reading import GRAMS, Unit

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from drivers.learning.lesson import Phase

SLACK: Final = 0.03
"""Share by which a shown weight may differ from the known one: kitchen weights and scales that
nobody adjusted are within it, and no two units are nearer to each other."""

_STEPS: Final = 5
"""Steps that a known weight must show at least, or its unit cannot be told."""

_RUN: Final = 4
"""Equal frames in a row that count as a rest: a key or a moving load passes sooner."""


_RESTLESS: Final = 0.5
"""Share of the frames in which a column changes that has nothing to do with the load."""


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
        still = self._still_columns()
        return [
            list(group) for _, group in groupby(indices, lambda i: (len(self.texts[i]), still(i)))
        ]

    def _still_columns(self) -> Callable[[int], str]:
        """What stands in the columns of a frame that do not change all the time.

        A running number or a clock would leave nothing at rest.
        """
        pairs = [(a, b) for a, b in pairwise(self.texts) if len(a) == len(b)]
        restless = {
            at
            for at in range(max(map(len, self.texts), default=0))
            if sum(a[at : at + 1] != b[at : at + 1] for a, b in pairs) > _RESTLESS * len(pairs)
        }
        return lambda i: "".join(
            char for at, char in enumerate(self.texts[i]) if at not in restless
        )


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
