"""What hands do to a pan, as pushes over time whose sum is the load.

Every stroke has a beginning and an end; before it, it adds nothing, after it, exactly
``stays_g`` for ever.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Protocol


def _smooth(x: float) -> float:
    return x * x * (3.0 - 2.0 * x)


class Stroke(Protocol):
    """One push."""

    @property
    def start_s(self) -> float:
        """When it begins."""
        ...

    @property
    def end_s(self) -> float:
        """When it is over."""
        ...

    @property
    def stays_g(self) -> float:
        """What it leaves on the pan, g; negative when it takes something away."""
        ...

    def push_g(self, t: float) -> float:
        """What it adds to the load at a time between its beginning and its end, g."""
        ...


@dataclass(frozen=True, slots=True)
class Landing:
    """Something arrives on the pan, or leaves it.

    What falls also pushes by its momentum: a flow of m' grams a second that arrives with
    velocity v weighs m'·v/g more while it lands, so a fast landing overshoots.

    Attributes:
        start_s: When the first of it touches.
        span_s: How long it goes on arriving, above 0.
        stays_g: How much there is of it.
        fall_s: v/g: its velocity on arrival over gravity, s; 0 for what is laid down or taken.
    """

    start_s: float
    span_s: float
    stays_g: float
    fall_s: float = 0.0

    @property
    def end_s(self) -> float:
        """When the last of it lies still."""
        return self.start_s + self.span_s

    def push_g(self, t: float) -> float:
        """What it adds to the load at a time between its beginning and its end, g."""
        x = (t - self.start_s) / self.span_s
        flow = 6.0 * x * (1.0 - x) / self.span_s
        return self.stays_g * (_smooth(x) + flow * self.fall_s)


@dataclass(frozen=True, slots=True)
class Press:
    """A tool or a hand on the bowl: a push that rises, trembles, and goes.

    Attributes:
        start_s: When it touches.
        span_s: How long it stays, above 0.
        force_g: How hard it pushes down, g; below 0 when it takes weight off.
        edge_s: How long it takes to rise and to go, at most half of ``span_s``.
        tremor_hz: How fast the hand trembles, Hz.
    """

    start_s: float
    span_s: float
    force_g: float
    edge_s: float
    tremor_hz: float

    @property
    def end_s(self) -> float:
        """When it has let go."""
        return self.start_s + self.span_s

    @property
    def stays_g(self) -> float:
        """Nothing stays."""
        return 0.0

    def push_g(self, t: float) -> float:
        """What it adds to the load at a time between its beginning and its end, g."""
        since_s, left_s = t - self.start_s, self.end_s - t
        edge = _smooth(max(0.0, min(1.0, since_s / self.edge_s, left_s / self.edge_s)))
        return (
            self.force_g * edge * (1.0 + _TREMOR * math.sin(math.tau * self.tremor_hz * since_s))
        )


_TREMOR = 0.06
"""Share by which a resting hand's push trembles (chosen; no published source)."""


class Load:
    """The load made by strokes, read forward in time."""

    def __init__(self, strokes: Iterable[Stroke] = ()) -> None:
        self._coming: list[Stroke] = []
        self._active: list[Stroke] = []
        self._resting_g = 0.0
        self.add(strokes)

    def add(self, strokes: Iterable[Stroke]) -> None:
        """Let more strokes come; none may begin before the time last asked about."""
        self._coming = sorted([*self._coming, *strokes], key=lambda s: s.start_s, reverse=True)

    def at(self, t: float) -> float:
        """Load at time ``t``, g; times asked about must not run backwards."""
        while self._coming and self._coming[-1].start_s <= t:
            self._active.append(self._coming.pop())
        if not self._active:
            return self._resting_g
        self._resting_g += sum(s.stays_g for s in self._active if s.end_s <= t)
        self._active = [s for s in self._active if s.end_s > t]
        return self._resting_g + sum(s.push_g(t) for s in self._active)

    @property
    def resting(self) -> bool:
        """Nothing moved at the time last asked about."""
        return not self._active
