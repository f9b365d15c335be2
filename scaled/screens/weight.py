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

_COARSEST: Final = {Unit.G: 1.0, Unit.OZ: 0.05}
"""Steps are never coarser than this because of how the profile is written, in each unit."""
_SEEN: Final = 1.15
"""A step is shown unless the standard uncertainty is more than so many steps.

The difference of two readings of a scale with division d has u = 0.41 d from rounding alone
(GUM, F.2.2.1, twice) and up to about 0.7 d with noise: grams of a 1 g scale are shown, hundredths
of an ounce (0.28 g) are not.
"""


@dataclass(frozen=True, slots=True)
class Writing:
    """A way to write weights.

    Attributes:
        unit: ``g`` or ``oz``.
        step: Smallest step shown, in ``unit``.
    """

    unit: Unit = Unit.G
    step: float = 1.0

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

    def for_uncertainty(self, u_g: float) -> Writing:
        """The same, in steps of 1, 2 or 5 coarse enough for a standard uncertainty in g."""
        least = u_g / GRAMS[self.unit] / _SEEN
        if least <= self.step:
            return self
        decade = 10.0 ** math.floor(math.log10(least))
        factor = next(f for f in (1, 2, 5, 10) if f * decade >= least)
        return Writing(self.unit, factor * decade)

    @property
    def _decimals(self) -> int:
        return max(0, -math.floor(math.log10(self.step) + 1e-9))


def writing(profile: BuildProfile) -> Writing:
    """The unit and the digits that the profile's author writes."""
    ounces = sum(step.target_g.unit in {Unit.OZ, Unit.LB} for step in profile.steps)
    unit = Unit.OZ if 2 * ounces > len(profile.steps) else Unit.G
    written = [
        round(weight_g.digit_g / GRAMS[unit], 9)
        for step in profile.steps
        for weight_g in (step.target_g, step.written_under_g, step.written_over_g)
        if weight_g is not None and weight_g.unit is unit
    ]
    return Writing(unit, min([_COARSEST[unit], *written]))
