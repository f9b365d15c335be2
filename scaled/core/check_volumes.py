"""Checks a profile's volumes: do the scoops make the target, does the food fit."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from scaled.core.finding import Finding, note, step_place, warning
from scaled.core.profile import BuildProfile, Step
from scaled.core.tool import STANDARD_DISHERS, Disher, Measure, disher_ml
from scaled.core.wording import choices, spell, spell_both

FULLEST: Final = 0.95
"""Share of the brimful volume above which a container can hardly be carried (our convention)."""


def check_scoops(profile: BuildProfile) -> Iterator[Finding]:
    """Do scoops times tool volume times density make each target?"""
    for number, step in enumerate(profile.steps, 1):
        if isinstance(step.tool, Disher | Measure) and step.density_g_per_ml is not None:
            yield from _check_portion(number, _Portion(step, step.tool, step.density_g_per_ml))


@dataclass(frozen=True, slots=True)
class _Portion:
    """A step portioned by volume."""

    step: Step
    tool: Disher | Measure
    density_g_per_ml: float

    @property
    def scoop_g(self) -> float:
        """What one level scoop weighs."""
        return self.tool.volume_ml * self.density_g_per_ml

    @property
    def level_g(self) -> float:
        """What all scoops of the step weigh, filled level."""
        return self.step.scoops * self.scoop_g

    def fits(self, weight_g: float) -> bool:
        """Is this weight inside the step's band?"""
        step = self.step
        return step.target_g - step.under_g <= weight_g <= step.target_g + step.over_g


def _check_portion(number: int, portion: _Portion) -> Iterator[Finding]:
    step = portion.step
    unit = step.target_g.unit
    where = step_place(number, step.id, "scoops")
    target = spell(step.target_g, unit)
    if portion.tool.fill == "rounded" and portion.level_g < step.target_g:
        heap = step.target_g / portion.level_g - 1
        reason = f"{_makes(portion)} of {target}, so the heaps must hold {heap:.0%} more"
        yield note(where, f"{reason}; no published figure for that: weigh ten and see")
    elif portion.tool.fill == "rounded":
        reason = f"{_makes(portion)} of {target}, and rounded ones hold more"
        yield warning(where, f'{reason}; write fill = "level" or {_better(portion)}')
    elif not portion.fits(portion.level_g):
        side = "below" if portion.level_g < step.target_g else "above"
        reason = f"{_makes(portion)}, {side} what passes for {target}"
        yield warning(where, f"{reason}; {_better(portion)}")


def _makes(portion: _Portion) -> str:
    count, tool = portion.step.scoops, portion.tool
    scoops = "1 level scoop" if count == 1 else f"{count} level scoops"
    name = f"disher {tool.number}" if isinstance(tool, Disher) else tool.kind
    verb = "makes" if count == 1 else "make"
    weight = spell_both(portion.level_g, portion.step.target_g.unit)
    return f"{scoops} of {name} ({tool.volume_ml:.1f} mL) {verb} {weight}"


def _better(portion: _Portion) -> str:
    """What to change so that the portion passes: the count, or the size."""
    step, unit = portion.step, portion.step.target_g.unit
    count = max(1, round(step.target_g / portion.scoop_g))
    options = [(count * portion.scoop_g, f"write scoops = {count}"), _other_size(portion)]
    fitting = [f"{advice} ({spell_both(g, unit)})" for g, advice in options if portion.fits(g)]
    return choices([*fitting, "check the density and the target"])


def _other_size(portion: _Portion) -> tuple[float, str]:
    """The size whose level scoops, as many as now, come closest: what they weigh, what to do."""
    step = portion.step
    if isinstance(portion.tool, Measure):
        wanted_ml = step.target_g / step.scoops / portion.density_g_per_ml
        return step.target_g, f"use a {portion.tool.kind} of {wanted_ml:.0f} mL"
    weights = {n: step.scoops * disher_ml(n) * portion.density_g_per_ml for n in STANDARD_DISHERS}
    number = min(weights, key=lambda n: abs(weights[n] - step.target_g))
    return weights[number], f"use disher {number}"


def check_fill(profile: BuildProfile) -> Iterator[Finding]:
    """Does the food, never packed down, fit the container with room to carry it?"""
    brimful_ml = profile.container.brimful_ml
    if brimful_ml is None:
        return
    known = [step for step in profile.steps if step.density_g_per_ml]
    filled_ml = math.fsum(
        step.target_g / step.density_g_per_ml for step in known if step.density_g_per_ml
    )
    share = filled_ml / brimful_ml
    amount = f"{filled_ml:.0f} mL of {brimful_ml:.0f} mL ({share:.0%})"
    where = "container, brimful"
    if share > FULLEST:
        remedy = "take a larger container or smaller portions; never pack it down"
        yield warning(where, f"the food fills {amount}; {remedy}")
    elif len(known) < len(profile.steps):
        missing = [step.id for step in profile.steps if step not in known]
        reason = f"the food fills {amount} without {', '.join(missing)}"
        yield note(where, f"{reason}; give their density to check the rest")


def check_densities(profile: BuildProfile) -> Iterator[Finding]:
    """Which steps are portioned by volume and cannot be checked?"""
    for number, step in enumerate(profile.steps, 1):
        if isinstance(step.tool, Disher | Measure) and step.density_g_per_ml is None:
            where = step_place(number, step.id, "density")
            yield note(where, "not given, so the scoops are not checked; weigh one level scoop")
