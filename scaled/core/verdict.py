"""From a measured weight and its uncertainty to pass, over or under.

Terms and formulas: JCGM 106:2012 (conformance probability, decision rules) and JCGM 100:2008,
the GUM (standard uncertainty).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, NamedTuple

from scaled.core.budget import portion_budget
from scaled.core.events import Doubt, Verdict

if TYPE_CHECKING:
    from scaled.core.accuracy import Accuracy
    from scaled.core.division import LearntDivision

COVERAGE: Final = 2.0
"""The guard band w = U in standard uncertainties: at most 2.5 in 100 portions beyond it are good
or bad against what is said (ILAC-G8:09/2019, w = U; JCGM 106:2012, 8.3.2)."""

LEAST_U_G: Final = 1e-6
"""Keeps the conformance probability defined for an ideal scale."""

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

    @property
    def width_g(self) -> float:
        """From limit to limit."""
        return self.high_g - self.low_g

    def narrowed(self, guard_g: float) -> Band:
        """The limits moved inwards by a guard band, outwards when it is negative."""
        return Band(self.low_g + guard_g, self.target_g, self.high_g - guard_g)

    def capability(self, u_g: float) -> float:
        """How often the width holds 4 ``u_g``: C_m (JCGM 106:2012, 7.6.3)."""
        return self.width_g / (2 * COVERAGE * max(u_g, LEAST_U_G))

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


class Judged(NamedTuple):
    """What is said of one weight.

    Attributes:
        verdict: Pass, over, under or unsure.
        confidence: Probability that the true weight supports the verdict; of an unsure one, that
            it is inside the limits.
        u_g: Standard uncertainty of the weight, g.
        u_scale_g: The scale's own share in it, None when nothing is known of that.
        doubt: Why the verdict is unsure, None when it is not.
    """

    verdict: Verdict
    confidence: float
    u_g: float
    u_scale_g: float | None
    doubt: Doubt | None


@dataclass(frozen=True, slots=True)
class DecisionRule:
    """How uncertainty counts when a weight is judged (JCGM 106:2012, 3.3.12).

    Simple acceptance holds the measured weight against the limits. Guarded acceptance passes it
    only when it is inside them by U = 2 u; between that and the limit it is unsure, never over or
    under. Either way nothing passes where the limits are closer together than 4 u of the best
    that the scale can do: no weight could be called good there. What is inside such limits or
    within U of them is unsure.

    Attributes:
        guarded: Guarded acceptance instead of simple.
        accuracy: How truly the scale weighs, None when nothing is known of that.
        division: How fine its display is, as far as that is known by now.
    """

    guarded: bool = False
    accuracy: Accuracy | None = None
    division: LearntDivision | None = None

    def judge(self, band: Band, net_g: float, readings_u_g: float) -> Judged:
        """Judge a weight; ``readings_u_g`` is what its two readings leave in doubt."""
        share_g, u_g = self._u_g(net_g, readings_u_g)
        doubt = self._doubt(band, net_g, u_g)
        if doubt is not None:
            return Judged(Verdict.UNSURE, band.conformance(net_g, u_g), u_g, share_g, doubt)
        return Judged(band.judge(net_g), band.confidence(net_g, u_g), u_g, share_g, None)

    def word(self, band: Band, net_g: float, readings_u_g: float) -> Verdict:
        """The verdict of :meth:`judge` alone: no probability is worked out."""
        _, u_g = self._u_g(net_g, readings_u_g)
        return band.judge(net_g) if self._doubt(band, net_g, u_g) is None else Verdict.UNSURE

    def no_good(self, band: Band, net_g: float, readings_u_g: float) -> bool:
        """Whether a weight surely should not pass: it is beyond a limit by more than U.

        With guarded acceptance beyond it at all.
        """
        guard_g = 0.0 if self.guarded else COVERAGE * self._u_g(net_g, readings_u_g)[1]
        return not band.low_g - guard_g <= net_g <= band.high_g + guard_g

    def goal(self, band: Band, readings_u_g: float) -> Band:
        """What a cook should bring the weight into so that it passes, never without the target."""
        if not self.guarded:
            return band
        guard_g = COVERAGE * self.judge(band, band.target_g, readings_u_g).u_g
        goal = band.narrowed(guard_g)
        target_g = band.target_g
        return Band(min(goal.low_g, target_g), target_g, max(goal.high_g, target_g))

    def _u_g(self, net_g: float, readings_u_g: float) -> tuple[float | None, float]:
        """The scale's own share in a weight's standard uncertainty, and all of it."""
        share_g = None if self.accuracy is None else self.accuracy.portion_u_g(net_g)
        return share_g, max(math.hypot(readings_u_g, share_g or 0.0), LEAST_U_G)

    def _doubt(self, band: Band, net_g: float, u_g: float) -> Doubt | None:
        guard_g = COVERAGE * u_g
        if band.capability(u_g) < 1 and band.capability(self.best_u_g(band)) < 1:
            near = band.narrowed(-guard_g).judge(net_g) is Verdict.PASS
            return Doubt.TOO_COARSE if near else None
        if not self.guarded or band.judge(net_g) is not Verdict.PASS:
            return None
        inside = band.narrowed(guard_g).judge(net_g) is Verdict.PASS
        return None if inside else Doubt.NEAR_LIMIT

    def best_u_g(self, band: Band) -> float:
        """What the scale leaves in doubt of a portion on its target; 0 when not known."""
        division_g = self.division.known_g if self.division else None
        if division_g is None:
            return 0.0
        return portion_budget(band.target_g, division_g, self.accuracy).u_g


def normal_cdf(z: float) -> float:
    """Probability that a standard normal variate is at most ``z``."""
    return 0.5 * math.erfc(-z / math.sqrt(2))
