"""The keys there are, for fingers, pointers and foot switches."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from textual.containers import Horizontal
from textual.content import Content
from textual.widget import Widget

KEYS: Final = (
    ("N", "next", "next"),
    ("U", "undo", "undo"),
    ("C", "checks", "checks"),
    ("B", "badge", "badge"),
    ("P", "dish", "dish"),
    ("S", "scale", "scale"),
    ("Q", "quit", "app.quit"),
)
"""Key, word and action, left to right."""


class Key(Widget):
    """One key; touching it is pressing it."""

    def __init__(self, key: str, word: str, action: str) -> None:
        super().__init__()
        self._labels = (f"[{key}] {word}", f"{key} {word}")
        self._action = action

    def render(self) -> Content:
        """The key's label, as long as there is room for."""
        full, short = self._labels
        return Content(full if len(full) <= self.size.width else short)

    async def on_click(self) -> None:
        """Do what the key does."""
        await self.screen.run_action(self._action)


class Keys(Horizontal):
    """All keys in a row of equal parts."""

    def compose(self) -> Iterator[Key]:
        """The keys."""
        for key, word, action in KEYS:
            yield Key(key, word, action)
