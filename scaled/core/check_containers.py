"""Checks a profile's containers: can weight tell one from another, and from a build."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import accumulate, combinations
from typing import NamedTuple

from scaled.core.check_weights import ROUNDING_G
from scaled.core.container import spread_g
from scaled.core.finding import Finding, note, step_place, warning
from scaled.core.profile import BuildProfile, Container, OtherContainer
from scaled.core.reading import Unit
from scaled.core.wording import spell, spell_both, spell_number


class _Weight(NamedTuple):
    """Something that may stand on the pan: from ``low_g`` to ``high_g``."""

    place: str
    low_g: float
    high_g: float
    accepted: bool


def check_containers(profile: BuildProfile, blur_g: float) -> Iterator[Finding]:
    """Which containers cannot be told from another, or from a build, by weight alone?

    Args:
        profile: The profile.
        blur_g: Gap between two weights that the scale cannot see, g.
    """
    own = _vessel("the container", profile.container, accepted=True)
    others = [
        _vessel(f"other_container {number} ({other.name})", other, accepted=other.accepted)
        for number, other in enumerate(profile.other_containers, 1)
    ]
    unit = profile.container.tare_g.unit
    for one, other in combinations([own, *others], 2):
        alike = _alike(one, other, blur_g, unit)
        if alike and one.accepted != other.accepted:
            unseen = "weight alone may not see the wrong one; mark it, or add a confirm"
            yield warning(other.place, f"{alike}: {unseen}")
        elif alike:
            yield note(other.place, f"{alike}: weight alone cannot say which of them it is")
    for other in others:
        for build in _builds(profile):
            alike = _alike(build, other, blur_g, unit)
            if alike:
                taken = "set down after a lift, one can be taken for the other"
                yield note(other.place, f"{alike}: {taken}")


def _vessel(place: str, vessel: Container | OtherContainer, *, accepted: bool) -> _Weight:
    off_g = 2 * spread_g(vessel)
    return _Weight(place, vessel.tare_g - off_g, vessel.tare_g + off_g, accepted)


def _builds(profile: BuildProfile) -> Iterator[_Weight]:
    """The build, container included, after each step."""
    tare = profile.container
    totals_g = accumulate((step.target_g for step in profile.steps), initial=float(tare.tare_g))
    next(totals_g)
    off_g = 2 * spread_g(tare)
    for number, (step, total_g) in enumerate(zip(profile.steps, totals_g, strict=True), 1):
        off_g = math.hypot(off_g, max(step.under_g, step.over_g))
        place = f"the build after {step_place(number, step.id)}"
        yield _Weight(place, total_g - off_g, total_g + off_g, accepted=True)


def _alike(one: _Weight, other: _Weight, blur_g: float, unit: Unit) -> str:
    """How the weight of ``other`` is like that of ``one``; "" when it is not."""
    gap_g = max(one.low_g, other.low_g) - min(one.high_g, other.high_g)
    if gap_g > blur_g + ROUNDING_G:
        return ""
    hers, theirs = _band(other, unit), _band(one, unit)
    if gap_g <= ROUNDING_G:
        return f"{hers} meets {one.place}, {theirs}"
    blur = f"on this scale (uncertain by {spell_both(blur_g, unit)})"
    return f"{hers} can look like {one.place}, {theirs}, {blur}"


def _band(weight: _Weight, unit: Unit) -> str:
    return f"{spell_number(weight.low_g, unit)} to {spell(weight.high_g, unit)}"
