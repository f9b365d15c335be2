"""What is built: one of the station's profiles."""

from __future__ import annotations

from collections.abc import Sequence

from textual.app import ComposeResult
from textual.containers import Vertical
from textual.content import Content
from textual.events import Key
from textual.widgets import Label, OptionList
from textual.widgets.option_list import Option

from scaled.screens.dialogs.dialog import Dialog
from scaled.screens.wire import ProfileTitle


class DishDialog(Dialog[str]):
    """Answers with a profile's id, None when left by Escape."""

    def __init__(self, titles: Sequence[ProfileTitle], current: str | None) -> None:
        """Ask for a profile.

        Args:
            titles: The profiles there are.
            current: Id of the present one.
        """
        super().__init__()
        self._titles = titles
        self._current = current

    def compose(self) -> ComposeResult:
        """The list; the present one is marked."""
        with Vertical(classes="dialog"):
            yield Label("Dish: arrow keys and Enter, its number, or touch it", classes="ask")
            yield OptionList(
                *(
                    Option(Content(self._label(place, title)), id=title.id)
                    for place, title in enumerate(self._titles, start=1)
                )
            )

    def on_mount(self) -> None:
        """Begin at the present one."""
        ids = [title.id for title in self._titles]
        if self._current in ids:
            self.query_one(OptionList).highlighted = ids.index(self._current)

    def _label(self, place: int, title: ProfileTitle) -> str:
        present = "  (now)" if title.id == self._current else ""
        return f"\n {place}  {title.title}, revision {title.revision}{present}\n"

    def on_option_list_option_selected(self, choice: OptionList.OptionSelected) -> None:
        """Answer with the chosen one."""
        self.answer(choice.option.id)

    def on_key(self, event: Key) -> None:
        """Take a number as the choice it stands before."""
        place = int(event.key) if event.key.isdecimal() else 0
        if 1 <= place <= len(self._titles):
            event.stop()
            self.answer(self._titles[place - 1].id)
