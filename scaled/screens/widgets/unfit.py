"""What is shown in a window that is too small for the screen."""

from __future__ import annotations

from typing import Final

from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from scaled.screens.shown import View

LEAST: Final = (60, 18)
"""Smallest window the screen is laid out for: columns, rows."""


class Unfit(Widget):
    """Weight and advice in small letters, and the size that is needed."""

    view: reactive[View | None] = reactive[View | None](None)

    def render(self) -> Content:
        """Advice first: it is still what matters."""
        if self.view is None:
            return Content("")
        number = self.view.number
        weight = f"{number.digits} {number.unit} {number.caption}\n\n" if number.digits else ""
        needed = f"make this window larger: {LEAST[0]} x {LEAST[1]} or more"
        return Content(f"{self.view.advice.line}\n\n{weight}{needed}")
