"""One line for what the station refused; it goes away by itself."""

from __future__ import annotations

from textual.content import Content
from textual.reactive import reactive
from textual.timer import Timer
from textual.widget import Widget

_SHOWN_S = 8.0


class Notice(Widget):
    """Hidden while it has nothing to say."""

    text: reactive[str] = reactive("", layout=True)
    _timer: Timer | None = None

    def watch_text(self, text: str) -> None:
        """Show, and hide again after a while; the banner gives up a row for it."""
        self.display = bool(text)
        self.screen.set_class(bool(text), "-noticed")
        if self._timer is not None:
            self._timer.stop()
        self._timer = self.set_timer(_SHOWN_S, self.clear) if text else None

    def clear(self) -> None:
        """Say nothing any more."""
        self.text = ""

    def render(self) -> Content:
        """The line."""
        return Content(f"! {self.text}")
