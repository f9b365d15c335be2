"""What was said of a scale against what the scale says of itself."""

from __future__ import annotations

from typing import Final

from scaled.core.errors import LinkRefused

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
