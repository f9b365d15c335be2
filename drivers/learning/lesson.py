"""What was heard of an unknown scale, and what was done to it meanwhile.

In a capture a note tells when each phase began and what it is::

    # at 0.000: empty           nothing on the pan
    # at 4.100: 200 g           a known weight put on, left to come to rest
    # at 9.300: unit key        the same weight; the unit key pressed through all units
    # at 16.000: below zero     the tare key pressed, then the same weight taken off

The first two must be there, the others make more of the description sure.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from dataclasses import dataclass
from enum import StrEnum
from itertools import accumulate
from typing import TYPE_CHECKING, Final

from scaled.core.errors import ConfigError
from scaled.core.reading import GRAMS, Unit
from scaled.core.wording import quoted

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

_AT: Final = re.compile(r"at ([0-9]{1,9}(?:\.[0-9]{1,9})?)")
_KNOWN: Final = re.compile(r"([0-9]{1,7}(?:\.[0-9]{1,6})?) ?(g|kg|oz|lb)")
_SUCH: Final = 'write "empty", a known weight such as "200 g", "unit key" or "below zero"'


class Deed(StrEnum):
    """What was done to the scale."""

    EMPTY = "empty"
    WEIGHT = "weight"
    UNIT_KEY = "unit key"
    BELOW_ZERO = "below zero"


@dataclass(frozen=True, slots=True)
class Phase:
    """A stretch of time: from ``begins_at``, s, to the next phase.

    ``load_g`` is what stands on the pan at its end, in g; of ``BELOW_ZERO`` negative.
    """

    begins_at: float
    deed: Deed
    load_g: float


@dataclass(frozen=True, slots=True)
class Lesson:
    """One lesson: pieces of bytes with their time, s, oldest first, and the phases, in order."""

    pieces: Sequence[tuple[float, bytes]]
    phases: Sequence[Phase]

    @property
    def data(self) -> bytes:
        """All bytes."""
        return b"".join(data for _, data in self.pieces)

    def phases_at(self, places: Sequence[int]) -> list[int]:
        """The phase, by number, in which each byte came; before all phases, the first."""
        ends = list(accumulate(len(data) for _, data in self.pieces))
        begins = [phase.begins_at for phase in self.phases]
        last = len(self.pieces) - 1
        times = (self.pieces[min(bisect_right(ends, place), last)][0] for place in places)
        return [max(bisect_right(begins, t) - 1, 0) for t in times]


def known_weight_g(text: str) -> float:
    """The weight written as "200 g", in g.

    Raises:
        ConfigError: Not a number above zero with g, kg, oz or lb.
    """
    written = _KNOWN.fullmatch(text.strip())
    weight_g = float(written[1]) * GRAMS[Unit(written[2])] if written else 0.0
    if not weight_g:
        raise ConfigError(text, "", 'not a known weight; write one such as "200 g"')
    return weight_g


def phases_noted(notes: Mapping[str, str], where: str) -> list[Phase]:
    """The phases in the notes of a capture that came from ``where``, in order of time.

    Raises:
        ConfigError: A note makes no sense, or there is no empty pan and known weight among them.
    """
    noted = {}
    for key, value in notes.items():
        if at := _AT.fullmatch(key):
            noted[float(at[1])] = value
    phases: list[Phase] = []
    load_g = 0.0
    for begins_at, value in sorted(noted.items()):
        phase = _phase(begins_at, value, load_g, where)
        load_g = phase.load_g
        phases.append(phase)
    check_phases(phases, where)
    return phases


def check_phases(phases: Sequence[Phase], where: str) -> None:
    """Make sure there is enough to learn from.

    Raises:
        ConfigError: There is not.
    """
    deeds = {phase.deed for phase in phases}
    if not {Deed.EMPTY, Deed.WEIGHT} <= deeds:
        reason = (
            "nothing can be learnt from it: it must say when the pan was empty and when a known"
            ' weight was on it, in lines such as "# at 0.000: empty" and "# at 4.100: 200 g"'
        )
        raise ConfigError(where, "", reason)


def _phase(begins_at: float, value: str, load_g: float, where: str) -> Phase:
    match value:
        case "empty":
            return Phase(begins_at, Deed.EMPTY, 0.0)
        case "unit key" if load_g > 0:
            return Phase(begins_at, Deed.UNIT_KEY, load_g)
        case "below zero" if load_g > 0:
            return Phase(begins_at, Deed.BELOW_ZERO, -load_g)
        case "unit key" | "below zero":
            reason = f"{quoted(value)} needs a known weight on the pan before it"
            raise ConfigError(where, f"at {begins_at:g} s", reason)
        case _:
            try:
                return Phase(begins_at, Deed.WEIGHT, known_weight_g(value))
            except ConfigError as err:
                reason = f"{quoted(value)} is no phase; {_SUCH}"
                raise ConfigError(where, f"at {begins_at:g} s", reason) from err
