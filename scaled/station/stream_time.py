"""The time of one station's stream: seconds since it began, in whole milliseconds."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Callable

    from scaled.core.reading import Reading

TICK_S: Final = 0.001
"""The journal keeps times to 1 ms; finer ones would replay differently than they ran."""


class StreamTime:
    """Counts from 0, or from where an earlier stream stopped.

    Attributes:
        last_t: Time of the newest reading, s; before it, where the stream began.
    """

    def __init__(self, clock: Callable[[], float]) -> None:
        """Begin now; ``clock`` gives seconds from any origin and never runs backwards."""
        self._clock = clock
        self._origin = clock()
        self.last_t = 0.0

    def go_on(self, t: float) -> None:
        """Let it be ``t`` now: the stream was interrupted, not begun."""
        self._origin = self._clock() - t
        self.last_t = t

    def now(self) -> float:
        """Seconds since the stream began, never before the newest reading."""
        return max(round(self._clock() - self._origin, 3), self.last_t)

    def stamped(self, reading: Reading) -> Reading:
        """The reading with a time of its own, after all others.

        Frames that arrive in one piece carry one time, and a command takes the time of the
        reading before it: times that differ keep that order when the stream is replayed.
        """
        self.last_t = round(max(reading.t, self.last_t + TICK_S), 3)
        return replace(reading, t=self.last_t)
