"""Where the uncertainty of a portion comes from, before any noise (JCGM 100:2008, the GUM).

The pan's noise and what movement is left are counted by :mod:`scaled.core.settle` as they come.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from scaled.core.accuracy import Accuracy

RESOLUTION_SHARE: Final = 1 / math.sqrt(12)
"""Standard uncertainty of one rounded reading, in divisions (JCGM 100:2008, F.2.2.1)."""


@dataclass(frozen=True, slots=True)
class Contribution:
    """One cause of uncertainty.

    Attributes:
        name: What it is.
        u_g: Its standard uncertainty, g.
        source: Why it is that much.
    """

    name: str
    u_g: float
    source: str


@dataclass(frozen=True, slots=True)
class Budget:
    """Independent contributions to one portion's uncertainty, at least one."""

    contributions: tuple[Contribution, ...]

    @property
    def u_g(self) -> float:
        """Combined standard uncertainty, g (JCGM 100:2008, 5.1.2)."""
        return math.hypot(*(part.u_g for part in self.contributions))


def two_readings_u_g(division_g: float) -> float:
    """What rounding leaves in doubt of a difference of two readings, g."""
    return math.sqrt(2) * RESOLUTION_SHARE * division_g


def portion_budget(net_g: float, division_g: float, accuracy: Accuracy | None) -> Budget:
    """The least uncertainty of a portion, weighed as a difference of two readings.

    Args:
        net_g: The portion.
        division_g: The scale's smallest displayed step, g.
        accuracy: How truly it weighs; None counts its own error as nothing.
    """
    rounding = Contribution(
        "division",
        two_readings_u_g(division_g),
        "two rounded readings (JCGM 100:2008, F.2.2.1)",
    )
    if accuracy is None:
        return Budget((rounding,))
    scale = Contribution("scale", accuracy.portion_u_g(net_g), accuracy.source(net_g))
    return Budget((rounding, scale))
