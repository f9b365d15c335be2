"""Checks a profile against a scale: can it judge each portion and the finished build?"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from scaled.core.accuracy import Accuracy, ByVerification
from scaled.core.budget import portion_budget
from scaled.core.check_weights import ROUNDING_G
from scaled.core.errors import ProfileError
from scaled.core.finding import Finding, Severity, error, note, step_place, warning
from scaled.core.profile import BuildProfile
from scaled.core.reading import GRAMS, Unit
from scaled.core.units import Grams
from scaled.core.verdict import COVERAGE, Band
from scaled.core.wording import round_up, spell, spell_both

REFUSED: Final = 4.0
"""A band narrower than this many divisions, or standard uncertainties, cannot be judged.

Two rounded readings leave u = 0.41 divisions; staying 2 u (95 %) clear of both limits takes
1.6 divisions, so in a band of 4 only the middle 2.4 would ever be a sure pass (our convention).
With the scale's own error counted in, a band of 4 u has no sure pass at all: C_m = 1 (JCGM
106:2012, 7.6.3).
"""

DOUBTFUL: Final = 6.0
"""Below this more than a quarter of a band is doubtful for rounding alone, or two thirds of it
for all causes together (our convention)."""

_WHOLE: Final = "finished, under and over"


@dataclass(frozen=True, slots=True)
class _Met:
    """A scale that a profile meets; the division is told in the unit it was written in."""

    division_g: float
    accuracy: Accuracy | None
    guarded: bool

    def u_g(self, net_g: float) -> float:
        return portion_budget(net_g, self.division_g, self.accuracy).u_g

    @property
    def unit(self) -> Unit:
        return self.division_g.unit if isinstance(self.division_g, Grams) else Unit.G


def check_scale(
    profile: BuildProfile, division_g: float, accuracy: Accuracy | None
) -> Iterator[Finding]:
    """What such a scale cannot judge, or not well, in the profile's order; then the budget.

    Args:
        profile: The profile.
        division_g: The scale's smallest displayed step, g; told in its own unit if ``Grams``.
        accuracy: How truly it weighs; None counts its own error as nothing.
    """
    met = _Met(division_g, accuracy, profile.acceptance == "guarded")
    for number, step in enumerate(profile.steps, 1):
        band = Band.around(step.target_g, step.under_g, step.over_g)
        place = step_place(number, step.id, "under and over")
        yield from _judge(place, band, step.target_g.unit, met)
    band = Band.around(profile.finished_net_g, profile.finished_under_g, profile.finished_over_g)
    unit = profile.finished.weight_g.unit if profile.finished else profile.steps[0].target_g.unit
    yield from _judge(_WHOLE, band, unit, met)
    if accuracy is not None:
        yield _budget(profile, met)


def unfit(
    profile: BuildProfile, division_g: float | None, accuracy: Accuracy | None
) -> list[Finding]:
    """What such a scale cannot judge at all; nothing can be said without its division."""
    if division_g is None:
        return []
    found = check_scale(profile, division_g, accuracy)
    return [finding for finding in found if finding.severity is Severity.ERROR]


def check_fit(profile: BuildProfile, division_g: float | None, accuracy: Accuracy | None) -> None:
    """Make sure that such a scale can judge something, for else nothing is gained by weighing.

    Raises:
        ProfileError: It can judge no step.
    """
    found = unfit(profile, division_g, accuracy)
    steps = [finding for finding in found if finding.where != _WHOLE]
    if len(steps) == len(profile.steps):
        first = f"{steps[0].where}: {steps[0].message}"
        raise ProfileError(profile.id, "", f"the scale can judge none of its steps; {first}")


def _judge(where: str, band: Band, unit: Unit, met: _Met) -> Iterator[Finding]:
    """At most one finding."""
    width_g, u_g = band.width_g + ROUNDING_G, met.u_g(band.target_g)
    divisions, uncertainties = width_g / met.division_g, width_g / u_g
    least = min(divisions, uncertainties)
    if least >= DOUBTFUL:
        yield from _guard(where, band, unit, met)
        return
    level, finding, trouble = (
        (REFUSED, error, "too narrow to judge")
        if least < REFUSED
        else (DOUBTFUL, warning, "doubtful near its limits")
    )
    if divisions < level:
        division = _spell_division(met.division_g, met.unit)
        finer = _spell_division(_division_for(width_g, met.unit), met.unit)
        size, remedy = f"{divisions:.3g} divisions of {division}", f"use a division of {finer}"
    else:
        size = f"{uncertainties:.3g} times its standard uncertainty"
        remedy = _truer(met.accuracy)
    causes = "two readings" + ("" if met.accuracy is None else " and the scale's own error")
    enough_g = level * max(met.division_g, u_g)
    message = (
        f"a band of {spell_both(band.width_g, unit)} is {size}, {trouble} ({causes} leave a"
        f" standard uncertainty of {u_g:.2g} g or more); {remedy}, or widen it to"
        f" {spell(round_up(enough_g, unit), unit)}"
    )
    yield finding(where, message)


def _truer(accuracy: Accuracy | None) -> str:
    if isinstance(accuracy, ByVerification):
        return "use a truer scale, or have this one repaired"
    return "use a scale of a better class"


def _guard(where: str, band: Band, unit: Unit, met: _Met) -> Iterator[Finding]:
    """Does guarded acceptance leave the target itself among what passes?"""
    guard_g = COVERAGE * met.u_g(band.target_g)
    nearer_g = min(band.target_g - band.low_g, band.high_g - band.target_g)
    if met.guarded and nearer_g + ROUNDING_G < guard_g:
        kept, left = spell_both(guard_g, unit), spell_both(nearer_g, unit)
        reason = f"guarded acceptance keeps {kept} from each limit, the target is {left} from one"
        yield error(where, f"{reason}: it would not pass itself; widen that side")


def _budget(profile: BuildProfile, met: _Met) -> Finding:
    """The uncertainty of the heaviest portion, which is known worst, and its causes."""
    heaviest = max(profile.steps, key=lambda step: step.target_g)
    budget = portion_budget(heaviest.target_g, met.division_g, met.accuracy)
    causes = "; ".join(f"{c.name} {c.u_g:.2g} g, {c.source}" for c in budget.contributions)
    portion = f"{heaviest.id}, {spell(heaviest.target_g, heaviest.target_g.unit)}"
    return note("scale", f"u = {budget.u_g:.2g} g or more ({portion}): {causes}")


def _division_for(width_g: float, unit: Unit) -> float:
    """The coarsest division, 1, 2 or 5 times a power of ten in ``unit``, that judges well, g."""
    most_g = width_g / DOUBTFUL
    decade_g = GRAMS[unit] * 10.0 ** math.floor(math.log10(most_g / GRAMS[unit]))
    return next(step * decade_g for step in (5, 2, 1) if step * decade_g <= most_g)


def _spell_division(division_g: float, unit: Unit) -> str:
    return f"{division_g / GRAMS[unit]:g} {unit.value}"
