"""Whether the check of the scale under way is to be abandoned."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Button, Label

from scaled.screens.dialogs.dialog import Dialog


class AbandonDialog(Dialog[bool]):
    """Answers True when it is, None when left by Escape."""

    # As with the checks of a build: a foot switch that sends Space or Enter must not answer.
    AUTO_FOCUS = ""
    BINDINGS: ClassVar = [("y", "abandon", "abandon")]

    def compose(self) -> ComposeResult:
        """The question and its large answers."""
        with Vertical(classes="dialog"):
            yield Label("A check of the scale is under way.", classes="ask")
            yield Label("Abandon it? Nothing of it is kept.", classes="question")
            with Horizontal(id="answers"):
                for label, name in (("Y abandon it", "abandon"), ("Esc go on", "leave")):
                    button = Button(label, id=name)
                    button.can_focus = False
                    yield button

    @on(Button.Pressed, "#abandon")
    def action_abandon(self) -> None:
        """Abandon it."""
        self.answer(True)

    @on(Button.Pressed, "#leave")
    def _go_on(self) -> None:
        self.action_leave()
