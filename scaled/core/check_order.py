"""Checks a profile's order: can weight tell its steps apart, does the hand-off go one way."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, groupby

from scaled.core.check_weights import ROUNDING_G
from scaled.core.finding import Finding, note, step_place, warning
from scaled.core.profile import BuildProfile, Step
from scaled.core.wording import choices, quoted, spell, spell_both, spell_number


def check_alike(profile: BuildProfile, blur_g: float) -> Iterator[Finding]:
    """Which steps cannot be told apart by weight alone?

    Args:
        profile: The profile.
        blur_g: Gap between two bands that the scale cannot see, g.
    """
    for (number, step), (other_number, other) in combinations(enumerate(profile.steps, 1), 2):
        gap_g = _gap_g(step, other)
        if gap_g > blur_g + ROUNDING_G:
            continue
        where = step_place(number, step.id)
        meets, on_scale = (
            ("meets", "")
            if gap_g <= ROUNDING_G
            else ("can look like", "," + _on_scale(step, blur_g))
        )
        reason = f"its band of {_band(step)} {meets} that of {step_place(other_number, other.id)}"
        reason = f"{reason}, {_band(other)}{on_scale}"
        if other_number == number + 1:
            unseen = "weight alone cannot see them swapped or the first one skipped"
            yield warning(where, f"{reason}: {unseen}; part them in the order, or add a confirm")
        else:
            yield note(where, f"{reason}: weight alone cannot see these two swapped")


def _gap_g(step: Step, other: Step) -> float:
    """What lies between two bands, g; negative when they overlap."""
    return max(_low_g(step), _low_g(other)) - min(_high_g(step), _high_g(other))


def _on_scale(step: Step, blur_g: float) -> str:
    return f" on this scale (uncertain by {spell_both(blur_g, step.target_g.unit)})"


def check_hidden_scoops(profile: BuildProfile, blur_g: float) -> Iterator[Finding]:
    """Where could the next step's portion pass for the last scoops of this one?"""
    for number, (step, following) in enumerate(
        zip(profile.steps, profile.steps[1:], strict=False), 1
    ):
        for made in range(1, step.scoops):
            seen_g = step.target_g * made / step.scoops + following.target_g
            outside_g = max(_low_g(step) - seen_g, seen_g - _high_g(step))
            if outside_g > blur_g + ROUNDING_G:
                continue
            what = f"{made} of {step.scoops} scoops and {step_place(number + 1, following.id)}"
            weigh = f"{what} weigh {spell(seen_g, step.target_g.unit)}"
            fits = (
                f"inside {_band(step)}"
                if outside_g <= ROUNDING_G
                else f"which can look like {_band(step)}{_on_scale(step, blur_g)}"
            )
            remedy = "a missing scoop could pass unseen: watch the count"
            yield note(step_place(number, step.id, "scoops"), f"{weigh}, {fits}: {remedy}")


def _low_g(step: Step) -> float:
    return step.target_g - step.under_g


def _high_g(step: Step) -> float:
    return step.target_g + step.over_g


def _band(step: Step) -> str:
    unit = step.target_g.unit
    return f"{spell_number(_low_g(step), unit)} to {spell(_high_g(step), unit)}"


def check_positions(profile: BuildProfile) -> Iterator[Finding]:
    """Does the build go from position to position without coming back?"""
    placed = [(n, s.id, s.position) for n, s in enumerate(profile.steps, 1) if s.position]
    left: list[str | None] = []
    for position, run in groupby(placed, key=lambda entry: entry[2]):
        number, step_id, _ = next(run)
        if position in left:
            where = step_place(number, step_id, "position")
            reason = f"the build would travel back to {position}"
            yield warning(where, f"{reason}; reorder the steps so that it goes one way")
        left.append(position)
    if placed and len(placed) < len(profile.steps):
        missing = next((n, s.id) for n, s in enumerate(profile.steps, 1) if not s.position)
        reason = "not given, though other steps have one"
        yield note(step_place(*missing, "position"), f"{reason}; say where this one belongs")


def check_post(profile: BuildProfile, position: str | None) -> list[Finding]:
    """Does a scale at this position of the hand-off have steps to do?"""
    known = list(dict.fromkeys(step.position for step in profile.steps if step.position))
    if position is None or position in known:
        return []
    there = choices(map(quoted, known)) if known else "no positions"
    reason = f"none is at {quoted(position)}, so all are asked for here"
    return [warning("step, position", f"{reason}; there are {there}")]


def check_confirms(profile: BuildProfile) -> Iterator[Finding]:
    """Does somebody look at what no scale can see?"""
    allergens = sorted({name for step in profile.steps for name in step.allergens})
    if allergens and not any("allerg" in confirm.ask.lower() for confirm in profile.confirms):
        reason = f"the build carries {', '.join(allergens)} and no confirm asks about allergens"
        yield warning("confirm", f"{reason}; add one as your allergen procedure asks")
    elif not profile.confirms:
        yield note("confirm", "there is none; add what a scale cannot see, such as the lid")
