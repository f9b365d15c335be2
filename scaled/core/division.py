"""A scale's division, read off its readings."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from scaled.core.reading import GRAMS, Unit

if TYPE_CHECKING:
    from collections.abc import Iterable

    from scaled.core.reading import Reading

_STEPS: Final = tuple(
    float(f"{mantissa}e{power}") for power in range(3, -6, -1) for mantissa in (5, 2, 1)
)
"""Divisions a display can have, in its own unit: 1, 2 or 5 x 10^k, coarsest first."""

_LEAST_NUMBERS: Final = 12
"""Different weights needed to say anything: with 12, a step twice too coarse would have to be
hit by at least 11 by luck, which happens to 13 in 4096."""

_GARBLED_SHARE: Final = 1 / 8
"""Share of the different weights that may be off the step: a twice too coarse one misses half."""


FINER: Final = 0.55
"""A display's steps in two units differ, by less than half."""
ASSUMED_G: Final = 1.0
"""Division of a scale that did not tell, until enough of its readings were seen."""
ASK_AFTER: Final = (25, 50, 100, 200, 400)
"""Readings after which it is inferred anew."""


class LearntDivision:
    """A scale's division as far as it is known.

    Args:
        given_g: The division as somebody gave it, g; None to learn it from the readings.
    """

    def __init__(self, given_g: float | None) -> None:
        self.grams = given_g or ASSUMED_G
        self.known_g = given_g
        """The division once it was given or read off, g; None while it is assumed."""
        self.learning = not given_g
        """Readings may still tell it."""
        self._seen: list[Reading] = []

    def learn(self, reading: Reading, unit: Unit) -> float:
        """Take one reading while it is learning; the division as known now, g.

        Args:
            reading: The reading.
            unit: The unit it is in when it carries none.
        """
        self._seen.append(replace(reading, unit=reading.unit or unit))
        if len(self._seen) in ASK_AFTER:
            self.known_g = infer_division(self._seen) or self.known_g
            self.grams = self.known_g or self.grams
        if len(self._seen) >= ASK_AFTER[-1]:
            self.learning = False
            self._seen.clear()
        return self.grams


def infer_division(readings: Iterable[Reading]) -> float | None:
    """The smallest displayed step, g; None when there are too few different weights to tell.

    When the unit changes midway, the one shown most often decides; no unit counts as g.
    A few garbled weights do no harm.
    """
    shown = Counter((reading.unit or Unit.G, reading.weight) for reading in readings)
    by_unit = Counter(unit for unit, _ in shown.elements())
    if not by_unit:
        return None
    unit = by_unit.most_common(1)[0][0]
    weights = [weight for its_unit, weight in shown if its_unit is unit and weight]
    step = _step(weights) if len(weights) >= _LEAST_NUMBERS else None
    return None if step is None else step * GRAMS[unit]


def step_of(number: float) -> float | None:
    """The coarsest step of a display that can show a number, in its unit; None when all can."""
    return _step([number])


def fineness(number: float, unit: Unit, division_g: float | None) -> float:
    """How much finer than its division a display must be to show a number in this unit.

    Returns:
        The share of the division that the number's step is; 1 if the display can show it.
    """
    step = step_of(number)
    if step is None or division_g is None:
        return 1.0
    share = step * GRAMS[unit] / division_g
    return 1.0 if share > FINER else share


def _step(weights: list[float]) -> float | None:
    """The coarsest step that all but a few garbled weights are whole multiples of."""
    may_miss = len(weights) * _GARBLED_SHARE
    return next((step for step in _STEPS if _misses(weights, step) <= may_miss), None)


def _misses(weights: list[float], step: float) -> int:
    return sum(not _fits(weight, step) for weight in weights)


def _fits(weight: float, step: float) -> bool:
    """Whether a weight is a whole multiple, and not of the kind that 0 is.

    What is left over may be a float's own error, no more: a scale resting at 1000.1 g is not
    showing thousands.
    """
    left_over = abs(math.remainder(weight, step))
    return abs(weight) > step / 2 and left_over <= 1e-12 * abs(weight)
