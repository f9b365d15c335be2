"""How weights are written on a screen: the unit the profile's author thinks in, rounded.

The model carries grams. The display unit is a matter of reading only: ounces when more than half
of the profile's targets are written in ounces or pounds, grams otherwise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from scaled.core.profile import BuildProfile
from scaled.core.reading import GRAMS, Unit

_DEFAULT_STEP: Final = {Unit.G: 1.0, Unit.OZ: 0.05}
_WORTH_SHOWING: Final = 1.5
"""Smallest step shown, in standard uncertainties.

The difference of two readings rounded to a division d has at least u = 0.41 d (GUM, F.2.2.1,
twice). With 1.5 the step on a 1-2-5 scale is d itself from there up to u = 0.67 d, so ordinary
noise does not make the last digit come and go.
"""


@dataclass(frozen=True, slots=True)
class Writing:
    """A way to write weights.

    Attributes:
        unit: ``g`` or ``oz``.
        step: Smallest step shown, in ``unit``.
    """

    unit: Unit
    step: float

    def digits(self, weight_g: float) -> str:
        """The number alone, rounded to the step: ``46``, ``1.25``, ``-3``."""
        steps = round(weight_g / GRAMS[self.unit] / self.step)
        return f"{steps * self.step + 0.0:.{self._decimals}f}"

    def text(self, weight_g: float) -> str:
        """Number and unit: ``46 g``."""
        return f"{self.digits(weight_g)} {self.unit}"

    def amount(self, weight_g: float) -> str:
        """Number and unit of something to move: one step at least, never ``0 g``."""
        return self.text(max(weight_g, self.step * GRAMS[self.unit]))

    @property
    def _decimals(self) -> int:
        return max(0, -math.floor(math.log10(self.step) + 1e-9))


def display_unit(profile: BuildProfile) -> Unit:
    """The unit the profile's author thinks in: ``g`` or ``oz``."""
    ounces = sum(step.target_g.unit in {Unit.OZ, Unit.LB} for step in profile.steps)
    return Unit.OZ if 2 * ounces > len(profile.steps) else Unit.G


def writing(unit: Unit, u_g: float) -> Writing:
    """How to write weights known with standard uncertainty ``u_g``; 0 when not known yet."""
    if u_g <= 0:
        return Writing(unit, _DEFAULT_STEP[unit])
    least = _WORTH_SHOWING * u_g / GRAMS[unit]
    decade = 10.0 ** math.floor(math.log10(least) + 1e-9)
    factor = next(f for f in (1, 2, 5, 10) if f * decade >= least * (1 - 1e-9))
    return Writing(unit, factor * decade)
