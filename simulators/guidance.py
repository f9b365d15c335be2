"""What a cook reads off a screen that guides: one thing to do, and to which ingredient.

A value of the simulators' own: whoever shows a screen to a simulated cook translates it.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol


class Say(StrEnum):
    """The one thing that the screen asks for."""

    SET_DOWN = "set down"
    """Set the bowl on the scale: an empty one, or the one in hand back."""
    ADD = "add"
    """Add ``amount_g`` of ``step``."""
    TAKE_BACK = "take back"
    """Take ``amount_g`` of ``step`` off again."""
    GO_ON = "go on"
    """What is in is good: begin with ``step``."""
    TAKE_AWAY = "take away"
    """All is in: the bowl can go."""
    WAIT = "wait"
    """Hands off for a moment."""
    UNCLEAR = "unclear"
    """The screen does not know where the build stands, and asks for one of its keys: the one for
    next when ``step`` is done, the other one when it was not begun."""


class Tap(StrEnum):
    """A key beside the screen."""

    NEXT = "next"
    """The step that the screen names is done."""
    UNDO = "undo"
    """The step before it is not."""


@dataclass(frozen=True, slots=True)
class Guidance:
    """A screen at a glance.

    Attributes:
        say: What it asks for.
        step: Id of the ingredient it names, None when it names none.
        amount_g: How much, as rounded on the screen; 0 when it says none.
        gestures: In how many gestures it says that this is done, at least 1.
    """

    say: Say
    step: str | None = None
    amount_g: float = 0.0
    gestures: int = 1


class Screen(Protocol):
    """What a cook looks at, and its keys."""

    def look(self) -> Guidance:
        """What it shows at this moment."""
        ...

    def tap(self, key: Tap) -> None:
        """Press one of its keys."""
        ...
