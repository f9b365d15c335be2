"""Checks a build profile: does it hold together, and can a scale judge it."""

from __future__ import annotations

from collections.abc import Iterator

from scaled.core.accuracy import Accuracy
from scaled.core.budget import two_readings_u_g
from scaled.core.check_containers import check_containers
from scaled.core.check_order import (
    check_alike,
    check_confirms,
    check_hidden_scoops,
    check_positions,
)
from scaled.core.check_scale import check_scale
from scaled.core.check_volumes import check_densities, check_fill, check_scoops
from scaled.core.check_weights import check_finished_tolerance, check_sum
from scaled.core.finding import Finding, Severity, note
from scaled.core.profile import BuildProfile

__all__ = ["Finding", "Severity", "check_profile"]


def check_profile(
    profile: BuildProfile, division_g: float | None, accuracy: Accuracy | None = None
) -> list[Finding]:
    """Everything that can be said of a profile before it is used.

    Args:
        profile: The profile.
        division_g: Smallest displayed step of the scale it will meet, g; None when unknown.
        accuracy: How truly that scale weighs; None counts its own error as nothing.

    Returns:
        Findings, the gravest first, otherwise in the order of the checks.
    """
    findings = list(_all(profile, division_g, accuracy))
    return sorted(findings, key=lambda finding: list(Severity).index(finding.severity))


def _all(
    profile: BuildProfile, division_g: float | None, accuracy: Accuracy | None
) -> Iterator[Finding]:
    yield from check_sum(profile)
    yield from check_finished_tolerance(profile)
    if division_g is None:
        yield note("under and over", "not checked against a scale; give its division")
        blur_g = 0.0
    else:
        yield from check_scale(profile, division_g, accuracy)
        blur_g = 2 * two_readings_u_g(division_g)
    yield from check_scoops(profile)
    yield from check_densities(profile)
    yield from check_fill(profile)
    yield from check_containers(profile, blur_g)
    yield from check_alike(profile, blur_g)
    yield from check_hidden_scoops(profile, blur_g)
    yield from check_positions(profile)
    yield from check_confirms(profile)
