"""What every question on top of the screen has in common."""

from __future__ import annotations

from typing import ClassVar, TypeVar

from textual.screen import ModalScreen

AnswerT = TypeVar("AnswerT")


class Dialog(ModalScreen[AnswerT | None]):
    """A question that is answered once, with None when it is left by Escape."""

    BINDINGS: ClassVar = [("escape", "leave", "leave")]

    def answer(self, answer: AnswerT | None) -> None:
        """Close with that answer, unless it is closed already."""
        # A key may be pressed twice before the first is dealt with; the second must not close
        # what is below.
        if self.is_current:
            self.dismiss(answer)

    def action_leave(self) -> None:
        """Leave things as they are."""
        self.answer(None)
