"""Shapes that say at a glance what a colour and a word say too.

All of them are in the character sets of plain consoles, and in :mod:`scaled.screens.blocks`.
"""

from __future__ import annotations

from enum import StrEnum
from types import MappingProxyType
from typing import Final

from scaled.core.events import Verdict
from scaled.core.live import Rung, StepState


class Mark(StrEnum):
    """What kind of thing the screen says."""

    SET_DOWN = "↓"
    ADD = "+"
    TAKE_BACK = "▲"
    GOOD = "●"
    DONE = "■"
    AMISS = "!"
    WAIT = "…"
    DOUBT = "?"
    GONE = "\u00d7"  # a cross

    @property
    def role(self) -> str:
        """The palette's role that goes with it."""
        return _ROLES[self]


_ROLES: Final = MappingProxyType(
    {
        Mark.SET_DOWN: "plain",
        Mark.ADD: "more",
        Mark.TAKE_BACK: "less",
        Mark.GOOD: "good",
        Mark.DONE: "good",
        Mark.AMISS: "more",
        Mark.WAIT: "faint",
        Mark.DOUBT: "doubt",
        Mark.GONE: "faint",
    }
)


class RungMark(StrEnum):
    """Where a step of the ladder stands."""

    TODO = "·"
    NOW = "►"
    OPEN = "…"
    PASS = "●"  # noqa: S105 -- a verdict, not a secret
    OVER = "▲"
    UNDER = "▼"
    UNSURE = "?"
    SKIPPED = "○"
    DONE = "■"
    FAILS = "!"

    @property
    def word(self) -> str:
        """The word beside the mark; "" for a step that has not come yet."""
        return "" if self is RungMark.TODO else self.name.lower()

    @property
    def role(self) -> str:
        """The palette's role that goes with it."""
        return _RUNG_ROLES[self]


_RUNG_ROLES: Final = MappingProxyType(
    {
        RungMark.TODO: "quiet",
        RungMark.NOW: "plain",
        RungMark.OPEN: "plain",
        RungMark.PASS: "good",
        RungMark.OVER: "less",
        RungMark.UNDER: "more",
        RungMark.UNSURE: "doubt",
        RungMark.SKIPPED: "more",
        RungMark.DONE: "plain",
        RungMark.FAILS: "less",
    }
)


def rung_mark(rung: Rung, current: str | None) -> RungMark:
    """The mark of a step; one that is not done has no verdict to show.

    Args:
        rung: The step.
        current: Id of the step being filled; others may be open until their final word.
    """
    if rung.state is StepState.DONE and rung.verdict is not None:
        return RungMark.SKIPPED if rung.skipped else verdict_mark(rung.verdict)
    if rung.step == current:
        return RungMark.NOW
    return RungMark.TODO if rung.state is StepState.TODO else RungMark.OPEN


def verdict_mark(verdict: Verdict) -> RungMark:
    """The mark of a verdict."""
    return RungMark[verdict.name]  # they bear the same names
