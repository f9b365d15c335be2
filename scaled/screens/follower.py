"""What a screen knows of its station, kept up to date message by message."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

from scaled.core.live import Ask
from scaled.screens.client import Update
from scaled.screens.results import result_line
from scaled.screens.scene import Recipe, Scene
from scaled.screens.wire import Away, EventsMessage, StateMessage
from scaled.screens.words import may_be_swapped
from scaled.station.day_check import CheckState
from scaled.station.state import StationState

_ABANDONED: Final = "the check of the scale was abandoned: nothing of it is kept"


class Follower:
    """Keeps the scene.

    Attributes:
        scene: All that is known now.
    """

    def __init__(self) -> None:
        """Nothing was heard yet."""
        self.scene = Scene()

    def take(self, update: Update, recipe: Recipe | None) -> str:
        """Take an update.

        Args:
            update: What the station said.
            recipe: The profile of its session.

        Returns:
            What is to be said once, beside what the scene shows; "" for nothing.
        """
        if isinstance(update, StateMessage):
            return self._stand(update.state, recipe)
        if isinstance(update, Away):
            # Builds may be finished meanwhile that are not heard of.
            self.scene = replace(self.scene, away=update, finished="")
        elif isinstance(update, EventsMessage):
            said = [self._hear(event, recipe) for event in update.events]
            return next((line for line in reversed(said) if line), "")
        return ""

    def go_on(self) -> bool:
        """Have done with what is shown of the last check; whether anything was."""
        shown = self.scene.checked is not None
        self.scene = replace(self.scene, checked=None)
        return shown

    def _stand(self, state: StationState, recipe: Recipe | None) -> str:
        before = self.scene.state
        was_checking = before is not None and before.checking is not None
        ended = was_checking and state.checking is None
        made = _just_made(before, state) if ended else None
        building = state.live is not None and state.live.build > 0
        kept = None if building or state.checking is not None else self.scene.checked
        self.scene = replace(
            self.scene, state=state, recipe=recipe, away=None, checked=made or kept
        )
        return _ABANDONED if ended and made is None else ""

    def _hear(self, event: Mapping[str, Any], recipe: Recipe | None) -> str:
        said = result_line(event, recipe) or ""
        if event["event"] in {"finished", "handed_over"}:
            self.scene = replace(self.scene, finished=said)
        elif event["event"] == "odd_container" and self._holds_food():
            return said  # too late for the advice to say it
        return ""

    def _holds_food(self) -> bool:
        live = self.scene.live
        return live is not None and live.ask is not Ask.PLACE and not may_be_swapped(live)


def _just_made(before: StationState | None, state: StationState) -> CheckState | None:
    """The check of the day if it is another one than before."""
    last = before.check if before is not None else None
    if state.check is None or (last is not None and last.checked_at == state.check.checked_at):
        return None
    return state.check
