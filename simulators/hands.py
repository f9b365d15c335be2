"""Whose hands are at the scale: a simulated cook's, or a test's."""

from __future__ import annotations

from collections import deque
from typing import Final, Protocol

from simulators.cook import Cook
from simulators.gesture import Key, KeyPress
from simulators.stroke import Landing, Load, Press
from simulators.truth import BuildTruth


class Hands(Protocol):
    """What acts on a scale."""

    paused: bool
    """While set, no new movement begins; one under way is finished."""

    @property
    def done(self) -> bool:
        """Nothing more will ever happen."""
        ...

    def load_g(self, t: float) -> float:
        """Load on the pan at time ``t``, g; times asked about never run backwards."""
        ...

    def next_key(self, t: float) -> KeyPress | None:
        """The oldest key pressed at or before ``t`` and not returned yet."""
        ...


class CookHands:
    """A simulated cook's hands."""

    def __init__(self, cook: Cook, builds: int | None) -> None:
        """Let the cook begin at 0 s.

        Args:
            cook: Whose hands they are.
            builds: How many containers to serve, abandoned ones counted; None: without end.
        """
        self.paused = False
        self.builds: list[BuildTruth] = []
        """Truth of each build, from the moment it begins; pauses do not count in its times."""
        self._cook = cook
        self._left = builds
        self._load = Load()
        self._keys: deque[KeyPress] = deque()
        self._end_s = 0.0
        self._last_t = 0.0
        self._paused_s = 0.0
        self._done = False

    @property
    def done(self) -> bool:
        """The last bowl has left the pan and the pause after it is over."""
        return self._done

    def load_g(self, t: float) -> float:
        """Load on the pan at time ``t``, g; times asked about never run backwards."""
        if self.paused and self._load.resting:
            self._paused_s += t - self._last_t
        self._last_t = t
        now_s = t - self._paused_s
        self._plan_until(now_s)
        return self._load.at(now_s)

    def next_key(self, t: float) -> KeyPress | None:
        """The oldest key pressed at or before ``t`` and not returned yet."""
        self._plan_until(t - self._paused_s)
        if self.paused or not self._keys or self._keys[0].at_s + self._paused_s > t:
            return None
        press = self._keys.popleft()
        return KeyPress(press.at_s + self._paused_s, press.key)

    def _plan_until(self, now_s: float) -> None:
        while now_s >= self._end_s and not self._done:
            if self._left == len(self.builds):
                self._done = True
                return
            build = self._cook.build()
            self.builds.append(build.truth)
            self._load.add(build.strokes)
            self._keys.extend(build.keys)
            self._end_s = build.end_s


_LAYING_S: Final = 0.1
"""How long a test's hand takes to lay something down or take it."""
_EDGE_S: Final = 0.05
_TREMOR_HZ: Final = 5.0


class ScriptedHands:
    """A test's hands: each movement begins at the time the scale has reached."""

    def __init__(self) -> None:
        self.paused = False
        self.done = False
        self._load = Load()
        self._keys: deque[KeyPress] = deque()
        self._level_g = 0.0
        self._last_t = 0.0

    def place(self, weight_g: float) -> None:
        """Make ``weight_g`` all that is on the pan; 0 empties it."""
        self.add(weight_g - self._level_g)

    def add(self, weight_g: float) -> None:
        """Add to what is on the pan; below 0 takes away."""
        self._level_g += weight_g
        self._load.add([Landing(self._last_t, _LAYING_S, weight_g)])

    def press(self, force_g: float, span_s: float) -> None:
        """Lean on the pan for ``span_s``, at least 0.1 s."""
        self._load.add([Press(self._last_t, span_s, force_g, _EDGE_S, _TREMOR_HZ)])

    def hit(self, key: Key) -> None:
        """Press a key of the scale."""
        self._keys.append(KeyPress(self._last_t, key))

    def load_g(self, t: float) -> float:
        """Load on the pan at time ``t``, g; times asked about never run backwards."""
        self._last_t = t
        return self._load.at(t)

    def next_key(self, t: float) -> KeyPress | None:
        """The oldest key pressed at or before ``t`` and not returned yet."""
        return self._keys.popleft() if self._keys else None
