"""A check of the scale is to begin: with which test weights."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from typing import Final

from textual import on
from textual.app import ComposeResult
from textual.containers import Vertical
from textual.widgets import Button, Input, Label

from scaled.screens.check_view import today
from scaled.screens.dialogs.field import FieldDialog
from scaled.station.day_check import CheckState

_LONGEST: Final = 120


class ScaleCheckDialog(FieldDialog):
    """Stays until a check has begun, or it is left by Escape."""

    def __init__(
        self, check: CheckState | None, badge: str | None, begin: Callable[[str], Awaitable[str]]
    ) -> None:
        """Ask for the test weights.

        Args:
            check: The check of the day, which knows the weights there usually are.
            badge: Who is signed in and will have made it.
            begin: Begins it with weights as they were written; answers why not, "" once it has.
        """
        super().__init__(begin)
        self._weights = ", ".join(check.weights) if check is not None else ""
        self._today = today(check)
        self._badge = badge

    def compose(self) -> ComposeResult:
        """What is known of today, the weights and the key to begin."""
        who = f"badge {self._badge}" if self._badge else "nobody is signed in: B first names you"
        with Vertical(classes="dialog"):
            yield Label("Check the scale: test weights, such as 500 g, 2 kg", classes="ask")
            yield Input(self._weights, max_length=_LONGEST)
            yield Label(f"{self._today}\n{who}", classes="question", markup=False)
            yield Button("Empty the pan, then begin", id="ok")

    @on(Button.Pressed, "#ok")
    @on(Input.Submitted)
    def _answer(self) -> None:
        weights = self.query_one(Input).value.strip()
        if weights:
            self.offer(weights)
