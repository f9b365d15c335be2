"""The one thing to do next, across the whole screen."""

from __future__ import annotations

from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from scaled.screens.advice import Advice
from scaled.screens.blocks import draw, largest
from scaled.screens.marks import Mark
from scaled.screens.widgets.fitting import fitted, shortened

_NOTHING = Advice(Mark.WAIT, ("",), "")


class Banner(Widget):
    """Mark and headline in large letters, the plain line below, on a filled band."""

    advice: reactive[Advice] = reactive(_NOTHING)

    def watch_advice(self, advice: Advice) -> None:
        """Take the colour of what is said."""
        self.set_classes(f"-{advice.mark.role}")

    def render(self) -> Content:
        """Headline and line."""
        width, height = self.size
        advice = self.advice
        wordings = [f"{advice.mark} {headline}" for headline in advice.headlines]
        chosen = largest(wordings, width, height - 1)
        headline = draw(*chosen) if chosen else [shortened(wordings[-1], width)]
        line = fitted(advice.line, width, height - len(headline))
        spare = height - len(headline) - len(line)
        return Content("\n".join([*[""] * min(1, spare), *headline, *line]))
