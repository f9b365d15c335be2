"""The current ingredient, how it is portioned and what to beware of."""

from __future__ import annotations

import textwrap
from typing import ClassVar, Final

from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from scaled.screens.blocks import draw, largest
from scaled.screens.shown import Card
from scaled.screens.widgets.fitting import fitted

CAUTION: Final = "!"


class Ingredient(Widget):
    """Name, tool, coaching line and caution, on as many rows as there are.

    The caution and the name come first, then the tool, the kicker and the coaching line; if
    there are rows to spare then, the name is drawn large.
    """

    COMPONENT_CLASSES: ClassVar = {
        "ingredient--quiet",
        "ingredient--strong",
        "ingredient--caution",
    }

    card: reactive[Card] = reactive(Card())

    def render(self) -> Content:
        """The lines that fit."""
        card, (width, height) = self.card, self.size
        caution = f"{CAUTION} {card.never}" if card.never else ""
        never = textwrap.wrap(caution, width, subsequent_indent="  ")
        name = textwrap.wrap(card.name, width)
        room = height - len(never) - len(name)
        tool = fitted(card.tool, width, room)
        kicker = fitted(card.kicker, width, room - len(tool))
        room += len(name) - len(tool) - len(kicker)
        large = self._large(room - bool(card.say)) or name
        say = fitted(card.say, width, room - len(large))
        parts = (
            ("quiet", kicker), ("strong", large), ("strong", tool), ("quiet", say),
            ("caution", never),
        )  # fmt: skip
        return Content("\n").join(
            Content.styled(line, self.get_visual_style(f"ingredient--{part}"))
            for part, lines in parts
            for line in lines
        )

    def _large(self, room: int) -> list[str]:
        """The name in large letters; nothing where they do not fit."""
        chosen = largest([self.card.short.upper()], self.size.width, room)
        return draw(*chosen) if self.card.short and chosen else []
