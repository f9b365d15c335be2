"""Who is building: a badge code, typed, scanned or touched."""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable
from typing import Final

from textual import on
from textual.app import ComposeResult
from textual.containers import Grid, Vertical
from textual.widgets import Button, Input, Label

from scaled.screens.dialogs.field import FieldDialog

_DIGITS: Final = "1234567890"
_LONGEST: Final = 16
_EXAMPLE: Final = "C-014"
_UNDASHED: Final = re.compile(r"([A-Z]{1,2})([0-9]{1,5})", re.ASCII)


def badge_code(text: str) -> str:
    """The code as it is written on the badge: capitals, and the dash after its letters.

    Letters are never made up: different people's badges may have the same digits.
    """
    code = text.strip().upper()
    undashed = _UNDASHED.fullmatch(code)
    return f"{undashed[1]}-{undashed[2]}" if undashed else code


class BadgeDialog(FieldDialog):
    """Stays until a code is taken, or it is left by Escape."""

    def __init__(self, current: str | None, sign_in: Callable[[str], Awaitable[str]]) -> None:
        """Ask for a badge.

        Args:
            current: The present one; the pad has a key for its letters.
            sign_in: Takes a code; answers why not, "" when it is taken.
        """
        super().__init__(sign_in)
        self._letters = (current or _EXAMPLE).rstrip(_DIGITS)

    def compose(self) -> ComposeResult:
        """Field, number pad and keys."""
        with Vertical(classes="dialog"):
            yield Label(f"Badge code, such as {_EXAMPLE}, then Enter", classes="ask", markup=False)
            yield Input(max_length=_LONGEST)
            with Grid(id="pad"):
                for piece in (*_DIGITS[:-1], self._letters, _DIGITS[-1]):
                    yield Button(piece, classes="piece")
                yield Button("erase", id="erase")
            yield Button("OK", id="ok")

    @on(Button.Pressed, ".piece")
    def _type(self, press: Button.Pressed) -> None:
        field = self.query_one(Input)
        field.replace(str(press.button.label), *sorted(field.selection))

    @on(Button.Pressed, "#erase")
    def _erase(self) -> None:
        self.query_one(Input).action_delete_left()

    @on(Button.Pressed, "#ok")
    @on(Input.Submitted)
    def _answer(self) -> None:
        code = badge_code(self.query_one(Input).value)
        if code:
            self.offer(code)
