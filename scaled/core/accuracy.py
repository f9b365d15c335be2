"""How truly a scale weighs: by its accuracy class, or by what its last verification found.

Both say how far the scale's own error may shift a portion. A portion is a net weight over what
stands on the pan already, and whatever shifts both of its readings alike cancels:

- A class's limits hold for net weights over any tare load (UK SI 1995/1907, Schedule 2, 4.1,
  which carries the tables of OIML R 76), so the portion's own weight picks the limit.
- Of the error that a verification found, the part that grows with the load is left: as a span
  error it is proportional to the portion.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

AccuracyClass = Literal["I", "II", "III", "IIII"]

LEAST_E_G: Final[dict[AccuracyClass, float]] = {"I": 0.001, "II": 0.001, "III": 0.1, "IIII": 5.0}
"""Smallest verification scale interval of a class, g (OIML R 76-1:2006, Table 3)."""

_BANDS_E: Final[dict[AccuracyClass, tuple[int, int]]] = {
    "I": (50_000, 200_000),
    "II": (5_000, 20_000),
    "III": (500, 2_000),
    "IIII": (50, 200),
}
"""Loads in e up to which, inclusive, the error may be half an e and one e; above, one and a half
(OIML R 76-1:2006, Table 6)."""
_IN_SERVICE: Final = 2
"""A scale in use may be off by twice as much as at its verification (OIML R 76-1:2006, 3.5.2)."""
_EXACT: Final = 1e-9
"""Share of a load that is a float's own error."""


@dataclass(frozen=True, slots=True)
class ByClass:
    """A scale of an accuracy class, in use; nothing more is known of its error.

    Attributes:
        accuracy_class: The class on its plate.
        e_g: Its verification scale interval e, g.
    """

    accuracy_class: AccuracyClass
    e_g: float

    def permissible_g(self, load_g: float) -> float:
        """Maximum permissible error at initial verification for a load, g; either way."""
        half, whole = _BANDS_E[self.accuracy_class]
        load_e = abs(load_g) / self.e_g / (1 + _EXACT)
        return self.e_g * (0.5 if load_e <= half else 1.0 if load_e <= whole else 1.5)

    def portion_u_g(self, net_g: float) -> float:
        """Standard uncertainty that the scale's error gives a portion, g.

        Anywhere within the limits is as likely (JCGM 100:2008, 4.3.7).
        """
        return _IN_SERVICE * self.permissible_g(net_g) / math.sqrt(3)

    def source(self, net_g: float) -> str:
        """Where that comes from."""
        limit_g = _IN_SERVICE * self.permissible_g(net_g)
        return (
            f"accuracy class {self.accuracy_class} with e = {self.e_g:.3g} g: within"
            f" {limit_g:.3g} g in service (OIML R 76-1:2006, Table 6 and 3.5.2)"
        )


@dataclass(frozen=True, slots=True)
class ByVerification:
    """A scale whose error was found with a test weight; weights are not corrected for it.

    Attributes:
        load_g: The test weight.
        error_g: How much more than that the scale showed.
        error_u_g: Standard uncertainty of ``error_g``: test weight, repeatability, rounding. It
            counts whole for every portion, however small.
        spot_share: Standard uncertainty for not knowing where on the pan a portion lies, as a
            share of it.
    """

    load_g: float
    error_g: float
    error_u_g: float
    spot_share: float = 0.0

    def portion_u_g(self, net_g: float) -> float:
        """Standard uncertainty that the scale's error gives a portion, g.

        An error that is known and not corrected counts in full, not as a chance.
        """
        return math.hypot(
            self.error_g * net_g / self.load_g, self.spot_share * net_g, self.error_u_g
        )

    def source(self, _net_g: float) -> str:
        """Where that comes from."""
        return (
            f"last verification: off by {self.error_g:.3g} g at {self.load_g:.4g} g, itself known"
            f" to {self.error_u_g:.2g} g"
        )


Accuracy: TypeAlias = ByClass | ByVerification
