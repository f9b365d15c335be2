"""Who is building: a badge code, typed, scanned or touched."""

from __future__ import annotations

from typing import ClassVar, Final

from textual import on
from textual.app import ComposeResult
from textual.containers import Grid, Vertical
from textual.screen import ModalScreen
from textual.widgets import Button, Input, Label

_PAD: Final = "123456789-0"
_LONGEST: Final = 16
_EXAMPLE: Final = "C-014"


class BadgeDialog(ModalScreen[str | None]):
    """Answers with the code, None when left by Escape."""

    BINDINGS: ClassVar = [("escape", "leave", "leave")]

    def __init__(self, current: str | None) -> None:
        """Ask for a badge.

        Args:
            current: The present one; the field begins with its letters.
        """
        super().__init__()
        self._start = (current or _EXAMPLE).rstrip("0123456789")

    def compose(self) -> ComposeResult:
        """Field, number pad and keys."""
        with Vertical(classes="dialog"):
            yield Label(f"Badge code, such as {_EXAMPLE}, then Enter", classes="ask")
            yield Input(self._start, max_length=_LONGEST, select_on_focus=False)
            with Grid(id="pad"):
                for character in _PAD:
                    yield Button(character, classes="digit")
                yield Button("erase", id="erase")
            yield Button("OK", id="ok")

    @on(Button.Pressed, ".digit")
    def _type(self, press: Button.Pressed) -> None:
        self.query_one(Input).insert_text_at_cursor(str(press.button.label))

    @on(Button.Pressed, "#erase")
    def _erase(self) -> None:
        self.query_one(Input).action_delete_left()

    @on(Button.Pressed, "#ok")
    @on(Input.Submitted)
    def _answer(self) -> None:
        self.dismiss(self.query_one(Input).value.strip().upper() or None)

    def action_leave(self) -> None:
        """Leave things as they are."""
        self.dismiss(None)
