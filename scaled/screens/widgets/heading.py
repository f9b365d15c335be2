"""The top line: which dish, which build, whose, and how the scale is."""

from __future__ import annotations

from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from scaled.screens.widgets.fitting import shortened


class Heading(Widget):
    """Title on the left, facts on the right; the title gives way when there is no room."""

    title: reactive[str] = reactive("")
    facts: reactive[tuple[str, ...]] = reactive(())

    def render(self) -> Content:
        """The line."""
        facts = "   ".join(self.facts)
        room = max(0, self.size.width - len(facts) - 2)
        return Content(f"{shortened(self.title, room):<{room}}  {facts}")
