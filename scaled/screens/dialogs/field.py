"""A question that is answered with a text, which the station takes or refuses."""

from __future__ import annotations

from collections.abc import Awaitable, Callable

from textual import work
from textual.widgets import Input, Label
from textual.widgets.input import Selection

from scaled.screens.dialogs.dialog import Dialog


class FieldDialog(Dialog[None]):
    """Stays until its text is taken, or it is left by Escape.

    It has one field, and a label of the class ``ask`` in which a refusal is said.
    """

    def __init__(self, take: Callable[[str], Awaitable[str]]) -> None:
        """``take`` takes a text; answers why not, "" when it is taken."""
        super().__init__()
        self._take = take

    # A daemon that is slow to answer must not hold up Escape.
    @work(exclusive=True)
    async def offer(self, text: str) -> None:
        """Have the text taken."""
        refusal = await self._take(text)
        if not refusal:
            self.answer(None)
            return
        prompt, field = self.query_one(".ask", Label), self.query_one(Input)
        prompt.update(refusal)
        prompt.add_class("refused")
        # Selected, so that the next scan takes its place instead of being appended.
        field.selection = Selection(0, len(field.value))
