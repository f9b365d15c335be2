"""The steps of the build and how they went."""

from __future__ import annotations

import textwrap
from typing import ClassVar

from textual.content import Content
from textual.reactive import reactive
from textual.style import Style
from textual.widget import Widget

from scaled.screens.marks import RungMark
from scaled.screens.shown import RungLine
from scaled.screens.widgets.fitting import shortened

_CHECK = "□"
_WEIGHTS_FROM = 24
"""Narrower than this, names and words leave no room for weights."""


class Ladder(Widget):
    """One line a step: mark, name, weight, word; below, the checks still to answer.

    When not all steps fit, those around the current one are shown.
    """

    COMPONENT_CLASSES: ClassVar = {
        f"ladder--{role}" for role in ("quiet", "plain", "good", "more", "less", "doubt")
    }

    rungs: reactive[tuple[RungLine, ...]] = reactive(())
    checks: reactive[tuple[str, ...]] = reactive(())

    def render(self) -> Content:
        """The lines that fit."""
        width, height = self.size
        checks = self._checks(width, height - len(self.rungs) - 1)
        room = height - len(checks) - 1 if checks else height
        rungs = self._window(room)
        apart = "\n\n" if 2 * len(rungs) - 1 <= room else "\n"
        longest = max((len(rung.mark.word) for rung in rungs), default=0)
        lines = Content(apart).join(
            Content.styled(_line(rung, width, longest), self._style(rung.mark.role))
            for rung in rungs
        )
        if not checks:
            return lines
        quiet = self._style("quiet")
        below = Content("\n").join(Content.styled(line, quiet) for line in checks)
        return Content.assemble(lines, "\n\n", below)

    def _style(self, role: str) -> Style:
        return self.get_visual_style(f"ladder--{role}")

    def _window(self, room: int) -> tuple[RungLine, ...]:
        """So many rungs, the current one among them with two before it."""
        marks = [rung.mark for rung in self.rungs]
        current = marks.index(RungMark.NOW) if RungMark.NOW in marks else 0
        first = max(0, min(current - 2, len(self.rungs) - room))
        return self.rungs[first : first + max(0, room)]

    def _checks(self, width: int, room: int) -> list[str]:
        """The checks in full where they fit, else how many there are."""
        full = [
            line
            for check in self.checks
            for line in textwrap.wrap(f"{_CHECK} {check}", width, subsequent_indent="  ")
        ]
        if len(full) <= room:
            return full
        number = len(self.checks)
        return [f"{_CHECK} {number} check{'' if number == 1 else 's'}: press C"]


def _line(rung: RungLine, width: int, longest: int) -> str:
    """A step's line; ``longest`` is the length of the longest word, so that weights align."""
    word = f" {rung.mark.word:<{longest}}" if rung.mark.word else ""
    weight = f" {rung.weight}" if rung.weight and width >= _WEIGHTS_FROM else ""
    room = width - 2 - len(weight) - len(word)
    return f"{rung.mark} {shortened(rung.name, room):<{room}}{weight}{word}"
