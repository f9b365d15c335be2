"""How far off a scale may be: the standards' tables, by class, interval and load.

The two tables differ and are never mixed: at 5 000 divisions a new scale of class III may be off
by 1.5 e in one and by 2.5 d in the other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from scaled.core.accuracy import AccuracyClass, ByClass


class Standard(StrEnum):
    """Whose table judges a scale."""

    OIML_R76 = "oiml-r76"
    NIST_HB44 = "nist-hb44"


_IN_SERVICE: Final = 2
"""OIML R 76-1:2006, 3.5.2."""
_HB44_BANDS_D: Final = ((500, 1.0), (2_000, 2.0), (4_000, 3.0))
"""Test loads of class III in d up to which, inclusive, a scale may be off by so many d, and 5 d
above: maintenance tolerances (NIST Handbook 44, 2.20, Table 6)."""
_HB44_MOST_D: Final = 5.0
_ACCEPTANCE: Final = 0.5
"""Acceptance tolerances are half of those (NIST Handbook 44, 2.20, T.N.3.2)."""
_EXACT: Final = 1e-9
"""Share of a load that is a float's own error."""


@dataclass(frozen=True, slots=True)
class Permissible:
    """The permissible errors of one scale.

    Attributes:
        standard: Whose they are.
        accuracy_class: The class on the scale's plate; Handbook 44's are known for III only.
        interval_g: What loads and errors are counted in, g: e by OIML, d by Handbook 44.
        new: Those of a new or repaired scale, which are half of those of one in use.
    """

    standard: Standard
    accuracy_class: AccuracyClass
    interval_g: float
    new: bool = False

    def limit_g(self, load_g: float) -> float:
        """The most a load's indication may be off, either way, inclusive, g."""
        if self.standard is Standard.OIML_R76:
            initial_g = ByClass(self.accuracy_class, self.interval_g).permissible_g(load_g)
            return initial_g if self.new else _IN_SERVICE * initial_g
        load_d = abs(load_g) / self.interval_g / (1 + _EXACT)
        maintenance_d = next((d for up_to, d in _HB44_BANDS_D if load_d <= up_to), _HB44_MOST_D)
        return self.interval_g * (_ACCEPTANCE * maintenance_d if self.new else maintenance_d)

    @property
    def table(self) -> str:
        """The table's name, and which of its values are meant."""
        if self.standard is Standard.OIML_R76:
            which = "initial verification" if self.new else "in service (3.5.2)"
            return f"OIML R 76-1:2006, Table 6, class {self.accuracy_class}, {which}"
        which = "acceptance (T.N.3.2)" if self.new else "maintenance"
        return f"NIST Handbook 44, 2.20, Table 6, class {self.accuracy_class}, {which}"


def interval_counts(accuracy_class: AccuracyClass, e_g: float) -> tuple[float, float]:
    """Least and most intervals e that a scale of a class may have (OIML R 76-1:2006, Table 3).

    Inclusive. The rows' bounds are set between the intervals that exist, those in lb and oz of
    NIST Handbook 44, 2.20, Table 3 among them.
    """
    match accuracy_class:
        case "I":
            return 50_000, math.inf
        case "II":
            return (100 if e_g < _COARSE_II_G else 5_000), 100_000
        case "III":
            return (100 if e_g < _COARSE_III_G else 500), 10_000
    return 100, 1_000


_COARSE_II_G: Final = 0.075
"""Between 0.05 g and 0.1 g."""
_COARSE_III_G: Final = 4.0
"""Between 2 g and 5 g; between 0.125 oz and 0.01 lb."""
