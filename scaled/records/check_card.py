"""A check of a scale as a card: plain text for a label 62 mm wide, or for the terminal."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterator

    from scaled.core.verification import Finding
    from scaled.records.check import ScaleCheck

WIDTH: Final = 32
"""Letters across: a 62 mm label in 12 point type of fixed width (common practice, no published
source)."""
_RULE: Final = "-" * WIDTH


def check_card(check: ScaleCheck) -> list[str]:
    """The lines of the card, none wider than :data:`WIDTH`."""
    verification = check.verification
    word = "FIT" if verification.holds else "NOT FIT"
    return [
        _apart("SCALE CHECK", word),
        *_wrapped(check.station),
        f"{check.checked_at.astimezone():%Y-%m-%d %H:%M %z}",
        f"badge {check.badge or 'none'}",
        *_wrapped(
            f"class {check.accuracy_class}, e {check.e_g:.4g} g, d {check.division_g:.4g} g,"
            f" Max {check.capacity_g:.5g} g"
        ),
        *_wrapped(verification.table),
        _RULE,
        *(line for finding in verification.findings for line in _found(finding)),
        _RULE,
        *_inherited(check),
        "Not a legal verification.",
    ]


def _found(finding: Finding) -> Iterator[str]:
    word = "ok" if finding.holds else "FAILS"
    yield _apart(finding.trial.value, word)
    sign = "" if finding.worst_g < 0 else " "
    yield f" {sign}{finding.worst_g:.2f} g of {finding.limit_g:.2f} g"
    yield from _wrapped(f"at {finding.where}", indent="  ")
    if not finding.steady:
        yield "  did not come to rest"


def _inherited(check: ScaleCheck) -> Iterator[str]:
    accuracy = check.verification.accuracy
    yield f"error at {accuracy.load_g:.5g} g: {accuracy.error_g:+.2f} g"
    yield f"known to u = {accuracy.error_u_g:.2g} g"
    if accuracy.load_g < check.capacity_g:
        yield from _wrapped(f"not checked above {accuracy.load_g:.5g} g")


def _apart(left: str, right: str) -> str:
    return f"{left}{right.rjust(WIDTH - len(left))}"


def _wrapped(text: str, indent: str = "") -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent)
