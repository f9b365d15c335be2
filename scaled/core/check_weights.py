"""Checks a profile's weights: do they add up, do the tolerances agree."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from scaled.core.finding import Finding, error, note, step_place, warning
from scaled.core.profile import BuildProfile, Container, Finished
from scaled.core.units import Grams
from scaled.core.wording import spell, spell_both

ROUNDING_G: Final = 0.001
"""Weights are compared at 1 mg, as verdicts are."""


def check_sum(profile: BuildProfile) -> Iterator[Finding]:
    """Do the portions add up to the written finished weight, with or without the container?"""
    finished = profile.finished
    if finished is None:
        total = spell_both(profile.portions_g, profile.steps[0].target_g.unit)
        yield note("finished", f"not written; the portions' sum of {total} stands in for it")
        return
    excess_g = finished.weight_g - profile.portions_g
    alone = abs(excess_g) <= _slack_g(finished.weight_g)
    off_g = abs(excess_g - profile.container.tare_g)
    with_container = off_g <= _slack_g(finished.weight_g) + _slack_of(profile.container)
    if with_container if finished.includes_container else alone:
        return
    if with_container or alone:
        yield _wrong_flag(profile, finished)
    else:
        yield _unexplained(profile, finished)


def _slack_g(weight_g: Grams) -> float:
    """What rounding to the written digits can hide."""
    return weight_g.digit_g / 2 + ROUNDING_G


def _slack_of(container: Container) -> float:
    """How far the container may be from its written tare."""
    return container.tare_g.digit_g / 2 + (container.tare_tolerance_g or 0.0)


def _wrong_flag(profile: BuildProfile, finished: Finished) -> Finding:
    unit = finished.weight_g.unit
    weight, total = spell(finished.weight_g, unit), spell(profile.portions_g, unit)
    tare = spell_both(profile.container.tare_g, unit)
    if finished.includes_container:
        reason = f"{weight} is the portions' sum alone, the container of {tare} is not counted in"
        return error("finished, weight", f"{reason}; set includes_container = false")
    excess = spell_both(finished.weight_g - profile.portions_g, unit)
    reason = f"{weight} is {excess} more than the portions' sum of {total}"
    remedy = f"that is the container, tare {tare}; set includes_container = true"
    return error("finished, weight", f"{reason}: {remedy}")


def _unexplained(profile: BuildProfile, finished: Finished) -> Finding:
    unit = finished.weight_g.unit
    off_g = profile.finished_net_g - profile.portions_g
    amount = f"{spell_both(abs(off_g), unit)} {'more' if off_g > 0 else 'less'}"
    counted = " and the container" if finished.includes_container else ""
    message = (
        f"{spell(finished.weight_g, unit)} is {amount} than the portions' sum of"
        f" {spell(profile.portions_g, unit)}{counted}; neither rounding nor the container"
        f" explains it: {_suspect(profile, off_g, _slack_g(finished.weight_g))}"
    )
    beyond = off_g > profile.finished_over_g or -off_g > profile.finished_under_g
    return (error if beyond else warning)("finished, weight", message)


def _suspect(profile: BuildProfile, off_g: float, slack_g: float) -> str:
    """Where to look: at the step that weighs just what is off, if there is one."""
    trouble = "left out of this weight" if off_g < 0 else "counted twice in this weight"
    for number, step in enumerate(profile.steps, 1):
        if abs(abs(off_g) - step.target_g) <= slack_g:
            return f"is {step_place(number, step.id)}, which weighs that, {trouble}?"
    return "correct a target or this weight"


def check_finished_tolerance(profile: BuildProfile) -> Iterator[Finding]:
    """Is the finished tolerance between the steps' in quadrature and their worst case?"""
    finished = profile.finished
    if finished is None:
        return
    for key, written_g, steps_g in (
        ("under", finished.written_under_g, [step.under_g for step in profile.steps]),
        ("over", finished.written_over_g, [step.over_g for step in profile.steps]),
    ):
        if written_g is not None:
            yield from _compare_tolerance(f"finished, {key}", written_g, steps_g)


def _compare_tolerance(where: str, written_g: Grams, steps_g: list[float]) -> Iterator[Finding]:
    likely_g, worst_g, unit = math.hypot(*steps_g), math.fsum(steps_g), written_g.unit
    written = spell(written_g, unit)
    if written_g + _slack_g(written_g) < likely_g:
        reason = f"{written} is less than the portions' tolerances in quadrature"
        remedy = "builds of good portions will fail; widen it to that or tighten the portions"
        yield warning(where, f"{reason} ({spell_both(likely_g, unit)}): {remedy}")
    elif written_g - _slack_g(written_g) > worst_g:
        reason = f"{written} is more than all portions' tolerances together"
        remedy = "it can only fail when a portion has failed already; narrow it or leave it out"
        yield note(where, f"{reason} ({spell_both(worst_g, unit)}): {remedy}")
