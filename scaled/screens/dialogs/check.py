"""A check no scale can see, answered by the person who looked."""

from __future__ import annotations

from collections.abc import Callable
from enum import Enum
from typing import ClassVar, Final

from textual import on
from textual.app import ComposeResult
from textual.containers import Horizontal, Vertical
from textual.widgets import Button, Label

from scaled.core.profile import Confirm
from scaled.screens.dialogs.dialog import Dialog
from scaled.screens.words import asked

_LOOK_S: Final = 0.1
"""How often it is looked whether the build is still the one asked about."""


class Answer(Enum):
    """What was said to a check."""

    YES = "yes"
    NO = "no"
    LATER = "later"


class CheckDialog(Dialog[Answer]):
    """Answers with what was said, None when left by Escape or closed because the build is gone."""

    # No key of these means anything else on the screen below, and nothing can be focused: a
    # foot switch that sends Space or Enter must not answer.
    AUTO_FOCUS = ""
    BINDINGS: ClassVar = [
        ("y", "answer('YES')", "yes"),
        ("x", "answer('NO')", "no"),
        ("tab,right,down", "answer('LATER')", "later"),
    ]

    def __init__(
        self, check: Confirm, title: str, *, said: str, stands: Callable[[], bool]
    ) -> None:
        """Ask one check.

        Args:
            check: What to ask.
            title: Its build, and its place among those to answer.
            said: What came of the answer before, "" when there was none.
            stands: Whether that build is still the live one; an answer is not for another.
        """
        super().__init__()
        self._check = check
        self._title = title
        self._said = said
        self._stands = stands

    def compose(self) -> ComposeResult:
        """The question and its large answers."""
        with Vertical(classes="dialog"):
            yield Label(self._title, classes="ask", markup=False)
            yield Label(asked(self._check), classes="question", markup=False)
            with Horizontal(id="answers"):
                for label, name in (
                    ("Y yes", "YES"),
                    ("X no", "NO"),
                    ("Tab later", "LATER"),
                    ("Esc leave", "leave"),
                ):
                    button = Button(label, id=name.lower(), name=name)
                    button.can_focus = False
                    yield button
            if self._said:
                yield Label(self._said, classes="said", markup=False)

    def on_mount(self) -> None:
        """Look after the build from now on."""
        self.set_interval(_LOOK_S, self._look)

    def _look(self) -> None:
        if not self._stands():
            self.action_leave()

    @on(Button.Pressed)
    def _pressed(self, press: Button.Pressed) -> None:
        if press.button.id == "leave":
            self.action_leave()
        else:
            self.action_answer(press.button.name or "")

    def action_answer(self, name: str) -> None:
        """Answer, unless the build has gone meanwhile."""
        self.answer(Answer[name] if self._stands() else None)
