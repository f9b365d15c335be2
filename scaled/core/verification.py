"""What came of a check of a scale: each weighing, each finding, and what portions inherit."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from scaled.core.accuracy import ByVerification
from scaled.core.budget import two_readings_u_g
from scaled.core.checkup import Trial

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from scaled.core.checkup import Checkup, Lay, Spot

SAME_G: Final = 1e-3
"""Errors are compared at 1 mg, as verdicts are."""

_IN_THE_MIDDLE: Final = {Trial.LINEARITY, Trial.REPEATABILITY}


@dataclass(frozen=True, slots=True)
class Weighing:
    """One load weighed.

    Attributes:
        trial: What it was for.
        load_g: The test weights.
        spot: Where they lay.
        zero_g: What the empty pan showed just before.
        shown_g: What was shown with the load on it.
        left_g: What the empty pan showed after the load was taken off.
        u_g: Standard uncertainty of the error: test weights, rounding and noise.
        steady: It came to rest; else it was taken as it moved.
    """

    trial: Trial
    load_g: float
    spot: Spot
    zero_g: float
    shown_g: float
    left_g: float
    u_g: float
    steady: bool = True

    @property
    def error_g(self) -> float:
        """How much more was shown than lay there, the error at zero taken off.

        OIML R 76-1:2006, A.4.4.3: the corrected error.
        """
        return self.shown_g - self.zero_g - self.load_g


@dataclass(frozen=True, slots=True)
class Finding:
    """What one trial came to.

    Attributes:
        trial: Which.
        worst_g: The worst of what it looks at: an error, or a spread of several.
        limit_g: How much of that is permissible, inclusive.
        where: What was on the pan then.
        steady: Every weighing of it came to rest.
    """

    trial: Trial
    worst_g: float
    limit_g: float
    where: str
    steady: bool = True

    @property
    def holds(self) -> bool:
        """Whether the scale is fit in this."""
        return self.steady and abs(self.worst_g) <= self.limit_g + SAME_G


@dataclass(frozen=True, slots=True)
class Verification:
    """A check that was made to its end.

    Attributes:
        table: The standard's table that judged it.
        weighings: All of it, in order.
        findings: One a trial, in the trials' order.
        accuracy: What portions inherit of the scale's error until the next check.
    """

    table: str
    weighings: tuple[Weighing, ...]
    findings: tuple[Finding, ...]
    accuracy: ByVerification

    @property
    def holds(self) -> bool:
        """Whether the scale is fit."""
        return all(finding.holds for finding in self.findings)


def verification_of(checkup: Checkup, weighings: Sequence[Weighing]) -> Verification:
    """Judge a check by simple acceptance, limits inclusive.

    Args:
        checkup: What was asked for.
        weighings: One for each of its loads, in order.
    """
    findings = (
        _worst_error(Trial.LINEARITY, checkup, weighings),
        _repeatability(checkup, weighings),
        _worst_error(Trial.ECCENTRICITY, checkup, weighings),
        _zero_return(checkup, weighings),
    )
    return Verification(
        checkup.permissible.table, tuple(weighings), findings, _accuracy(checkup, weighings)
    )


def weighing_u_g(checkup: Checkup, lay: Lay, noise_g: float) -> float:
    """Standard uncertainty of a weighing's error, g.

    The test weights may be off by anything within their limits (JCGM 100:2008, 4.3.7), two
    readings are rounded, and the pan is never quite still.
    """
    weights_g = checkup.weights_off_g(lay) / math.sqrt(3)
    return math.hypot(weights_g, two_readings_u_g(checkup.plate.division_g), noise_g)


def _of(trial: Trial, weighings: Iterable[Weighing]) -> list[Weighing]:
    return [weighing for weighing in weighings if weighing.trial is trial]


def _repeated(weighings: Iterable[Weighing]) -> list[Weighing]:
    """All weighings of the repeatability load in the middle, whatever they were for."""
    (load_g,) = {one.load_g for one in _of(Trial.REPEATABILITY, weighings)}
    return [one for one in weighings if one.load_g == load_g and one.trial in _IN_THE_MIDDLE]


def _worst_error(trial: Trial, checkup: Checkup, weighings: Iterable[Weighing]) -> Finding:
    """Of several loads, the one whose error comes nearest to its limit or passes it most."""
    limit_g = checkup.permissible.limit_g
    mine = _of(trial, weighings)
    worst = max(mine, key=lambda one: abs(one.error_g) / limit_g(one.load_g))
    where = f"{worst.load_g:g} g, {worst.spot}"
    return Finding(trial, worst.error_g, limit_g(worst.load_g), where, _steady(mine))


def _repeatability(checkup: Checkup, weighings: Iterable[Weighing]) -> Finding:
    """The difference of several weighings of one load is limited as its error is.

    OIML R 76-1:2006, 3.6.1.
    """
    mine = _repeated(weighings)
    errors = [one.error_g for one in mine]
    load_g = mine[0].load_g
    where = f"{load_g:g} g, {len(mine)} times"
    limit_g = checkup.permissible.limit_g(load_g)
    return Finding(Trial.REPEATABILITY, max(errors) - min(errors), limit_g, where, _steady(mine))


def _zero_return(checkup: Checkup, weighings: Sequence[Weighing]) -> Finding:
    """How far the empty pan strayed from where it stood at first, judged as a load of nothing."""
    first_g = weighings[0].zero_g
    strayed = max((one.left_g - first_g for one in weighings), key=abs)
    where = f"empty, {len(weighings)} times"
    return Finding(Trial.ZERO_RETURN, strayed, checkup.permissible.limit_g(0.0), where)


def _steady(weighings: Iterable[Weighing]) -> bool:
    return all(one.steady for one in weighings)


def _accuracy(checkup: Checkup, weighings: Sequence[Weighing]) -> ByVerification:
    """What portions inherit: the heaviest load's error, and what is in doubt about it.

    How far a weighing of one load strays from the next counts by its standard deviation, how far
    the corners stray from the middle as anywhere in between (JCGM 100:2008, 4.2.2 and 4.3.7).
    """
    heaviest = max(_of(Trial.LINEARITY, weighings), key=lambda one: one.load_g)
    corners = _of(Trial.ECCENTRICITY, weighings)
    errors = [one.error_g for one in corners]
    spot_share = (max(errors) - min(errors)) / 2 / math.sqrt(3) / corners[0].load_g
    spread_g = _deviation([one.error_g for one in _repeated(weighings)])
    error_u_g = math.hypot(heaviest.u_g, spread_g)
    return ByVerification(heaviest.load_g, heaviest.error_g, error_u_g, spot_share)


def _deviation(values: Sequence[float]) -> float:
    mean = math.fsum(values) / len(values)
    return math.sqrt(math.fsum((v - mean) ** 2 for v in values) / (len(values) - 1))
