"""What may be done to a simulated scale's port while it runs, by word."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Deed:
    """One thing done.

    Attributes:
        do: Does it.
        rests: Whether the cook, who sees on the screen that the scale is gone, waits from then
            on (True) or goes on again (False); None: nothing to see.
    """

    do: Callable[[], Awaitable[None]]
    rests: bool | None = None
