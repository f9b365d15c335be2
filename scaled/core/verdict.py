"""From a measured weight and its uncertainty to pass, over or under.

Terms and formulas: JCGM 106:2012 (conformance probability) and JCGM 100:2008, the GUM
(standard uncertainty).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from scaled.core.events import Verdict

RESOLUTION_SHARE: Final = 1 / math.sqrt(12)
"""Standard uncertainty of one rounded reading, in divisions (JCGM 100, F.2.2.1)."""

_COMPARED_AT_G: Final = 0.001
"""Limits are inclusive and compared at 1 mg, so a float's last bit decides nothing."""


@dataclass(frozen=True, slots=True)
class Band:
    """What passes: ``low_g`` to ``high_g`` inclusive, aiming at ``target_g``."""

    low_g: float
    target_g: float
    high_g: float

    @classmethod
    def around(cls, target_g: float, under_g: float, over_g: float) -> Band:
        """The band from a target and what is allowed either way."""
        return cls(target_g - under_g, target_g, target_g + over_g)

    def judge(self, net_g: float) -> Verdict:
        """Simple acceptance of the measured weight."""
        if net_g < self.low_g - _COMPARED_AT_G / 2:
            return Verdict.UNDER
        if net_g > self.high_g + _COMPARED_AT_G / 2:
            return Verdict.OVER
        return Verdict.PASS

    def conformance(self, net_g: float, u_g: float) -> float:
        """Probability that the true weight lies in the band (JCGM 106, two limits)."""
        return normal_cdf((self.high_g - net_g) / u_g) - normal_cdf((self.low_g - net_g) / u_g)

    def confidence(self, net_g: float, u_g: float) -> float:
        """Probability that the true weight supports :meth:`judge`'s verdict."""
        verdict = self.judge(net_g)
        if verdict is Verdict.PASS:
            return self.conformance(net_g, u_g)
        if verdict is Verdict.UNDER:
            return normal_cdf((self.low_g - net_g) / u_g)
        return normal_cdf((net_g - self.high_g) / u_g)


def normal_cdf(z: float) -> float:
    """Probability that a standard normal variate is at most ``z``."""
    return 0.5 * math.erfc(-z / math.sqrt(2))
