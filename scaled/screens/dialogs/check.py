"""A check no scale can see, answered by the person who looked."""

from __future__ import annotations

from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Button, Label

from scaled.core.profile import Confirm
from scaled.screens.words import asked


class CheckDialog(ModalScreen[bool | None]):
    """Answers True when it held, False when not, None when it is left for later."""

    # Nothing is focused: a foot switch that sends Space or Enter must not answer by itself.
    AUTO_FOCUS = ""
    BINDINGS: ClassVar = [
        ("y", "answer(True)", "yes"),
        ("n", "answer(False)", "no"),
        ("escape", "later", "later"),
    ]

    def __init__(self, check: Confirm, count: str) -> None:
        """Ask one check.

        Args:
            check: What to ask.
            count: Its place among those to answer: ``1 of 3``.
        """
        super().__init__()
        self._check = check
        self._count = count

    def compose(self) -> ComposeResult:
        """The question and two large answers."""
        with Vertical(classes="dialog"):
            yield Label(f"Check {self._count}", classes="ask", markup=False)
            yield Label(asked(self._check), classes="question", markup=False)
            with Horizontal(id="answers"):
                yield Button("Y yes", id="yes")
                yield Button("N no", id="no")
                yield Button("Esc later", id="later")

    @on(Button.Pressed)
    def _pressed(self, press: Button.Pressed) -> None:
        self.dismiss({"yes": True, "no": False}.get(press.button.id or ""))

    def action_answer(self, held: bool) -> None:
        """Answer."""
        self.dismiss(held)

    def action_later(self) -> None:
        """Leave it unanswered."""
        self.dismiss(None)
