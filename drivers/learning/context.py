"""What went on at each frame, seen through its number: what the words beside it may mean."""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from drivers.learning.lesson import Deed
from drivers.learning.window import unit_at

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drivers.learning.sheet import Rest, Sheet
    from drivers.learning.window import Window
    from scaled.core.reading import Unit

_BELOW: Final = 0.2
"""Share of the known weight from which on a number is taken to be below zero."""


@dataclass(frozen=True, slots=True)
class Context:
    """For each frame what is known of it, None where nothing is.

    Attributes:
        moves: Whether the load was moving.
        units: The unit it shows.
        below: Whether it shows less than zero, where the number itself does not tell.
        tared: Whether a tare is being taken off.
    """

    moves: Sequence[bool | None]
    units: Sequence[Unit | None]
    below: Sequence[bool | None]
    tared: Sequence[bool | None]

    @property
    def has_below(self) -> bool:
        """Whether anything below zero was shown."""
        return True in self.below

    def only(self, kept: Sequence[int]) -> Context:
        """The context of some of the frames."""
        moves, below, tared = (
            [column[i] for i in kept] for column in (self.moves, self.below, self.tared)
        )
        return Context(moves, [self.units[i] for i in kept], below, tared)

    def shares(self, keys: Sequence[str], told: Sequence[bool | None]) -> dict[str, float | None]:
        """For each key how often it was told True; None where it was never told at all."""
        counts: dict[str, Counter[bool | None]] = defaultdict(Counter)
        for key, said in zip(keys, told, strict=True):
            counts[key][said] += 1
        shares: dict[str, float | None] = {}
        for key, count in counts.items():
            known = count[True] + count[False]
            shares[key] = count[True] / known if known else None
        return shares


def context_of(sheet: Sheet, window: Window, rests: Sequence[Rest]) -> Context:
    """What went on at each frame."""
    numbers = [window.read(text) for text in sheet.texts]
    sizes = [abs(one.value) if one else None for one in numbers]
    values = [one.value if one else None for one in numbers]
    units: list[Unit | None] = [None] * len(numbers)
    for rest in rests:
        possible = unit_at(window, sheet.texts[rest.last], rest)
        if rest.phase.deed is not Deed.EMPTY and len(possible) == 1:
            span = range(rest.first, rest.last + 1)
            for i in span:
                units[i] = possible[0]
    below, tared = _after_tare(sheet, sizes, rests)
    if any(value is not None and value < 0 for value in values):
        below = [None] * len(values)  # the number has a sign of its own
    return Context(_moving(values), units, below, tared)


def _after_tare(
    sheet: Sheet, sizes: Sequence[float | None], rests: Sequence[Rest]
) -> tuple[list[bool | None], list[bool | None]]:
    """Of each frame whether it is below zero, and whether a tare is being taken off.

    With the tare key the number falls to zero at once; all that follows in that phase is tared,
    and what is not zero there is below it.
    """
    below: list[bool | None] = [False] * len(sizes)
    tared: list[bool | None] = [False] * len(sizes)
    lifted = [rest for rest in rests if rest.phase.deed is Deed.BELOW_ZERO]
    for rest in lifted:
        full = sizes[rest.last] or 0.0
        key_pressed = False
        for i, size in enumerate(sizes):
            if sheet.phases[i] is not rest.phase:
                continue
            key_pressed = key_pressed or (size is not None and size < _BELOW * full)
            below[i] = None
            if key_pressed and size is not None:
                tared[i] = True
                below[i] = size > 0
            elif not key_pressed:
                tared[i] = None
    return below, tared


def _moving(values: Sequence[float | None]) -> list[bool | None]:
    """Of each frame whether the load moved: True, False, or None where it cannot be told."""
    told: list[bool | None] = [None] * len(values)
    changes = [a is None or b is None or a != b for a, b in pairwise(values)]
    for i in range(len(values)):
        before, after = changes[max(i - 3, 0) : i], changes[i : i + 1]
        if before and after and before[-1] and after[0]:
            told[i] = True
        elif len(before) == 3 and not any(before):
            told[i] = False
    return told
