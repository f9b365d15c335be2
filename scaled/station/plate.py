"""What was said of a scale against what the scale says of itself."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from scaled.core.errors import LinkRefused
from scaled.core.reading import Unit

if TYPE_CHECKING:
    from scaled.core.reading import Reading

_A_STEP: Final = 0.9
"""A scale that says 0.005 kg may show pounds, in steps of 0.01 lb: 4.5 g."""


def check_step(device: str, division_g: float | None, step_g: float | None) -> None:
    """Make sure that nobody said a finer division than the scale says it shows.

    Args:
        device: Which scale, for the error.
        division_g: What was said, None when nothing was.
        step_g: What the scale says, None when it says nothing.

    Raises:
        LinkRefused: Its weights would be taken for better than they are.
    """
    if division_g is not None and step_g is not None and division_g < _A_STEP * step_g:
        reason = f"shows steps of {step_g:g} g, not of {division_g:g} g"
        raise LinkRefused(device, reason, "correct its division, or leave it out")


def in_unit_said(reading: Reading, unit: str | None) -> Reading:
    """A session's first reading, in the unit that the display is said to show.

    Those after it are taken to be in the same unit until something shows otherwise.

    Args:
        reading: As the scale sent it; the unit that it names counts.
        unit: What was said, None when nothing was.
    """
    if reading.unit is not None or unit is None:
        return reading
    return replace(reading, unit=Unit(unit))
