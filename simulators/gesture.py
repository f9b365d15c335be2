"""A cook's single movements, each laid on a timeline and drawn from a source of chance.

The ranges are starting points from watching cooks, without published source, except where a
remark says otherwise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from random import Random
from typing import Final

from simulators.stroke import Landing, Press, Stroke
from simulators.truth import Disturbance, DisturbanceKind, Rest, find_rests

_SCATTER_S: Final = (0.1, 0.4)
_FALL_S: Final = (0.06, 0.16)
"""v/g of food let go 2 to 12 cm above the bowl: v = sqrt(2 g h)."""
_SPRINKLE_S: Final = (1.0, 4.0)
_PINCH_EVERY_S: Final = (0.15, 0.35)
_PRESS_S: Final = (0.1, 1.0)
_PRESS_G: Final = (15.0, 600.0)
"""From a spoon's tip to a resting hand; drawn evenly in the logarithm."""


class Key(StrEnum):
    """A key of the scale."""

    TARE = "tare"
    UNIT = "unit"


@dataclass(frozen=True, slots=True)
class KeyPress:
    """A key goes down at ``at_s``."""

    at_s: float
    key: Key


class Hand:
    """Lays movements one after another; :attr:`now_s` is where the last one ended."""

    def __init__(self, rng: Random, start_s: float) -> None:
        self.now_s = start_s
        self.keys: list[KeyPress] = []
        self.disturbances: list[Disturbance] = []
        self._start_s = start_s
        self._strokes: list[tuple[Stroke, str | None]] = []
        self._step: str | None = None
        self._rng = rng

    @property
    def strokes(self) -> list[Stroke]:
        """All strokes laid so far."""
        return [stroke for stroke, _ in self._strokes]

    def rests(self) -> tuple[Rest, ...]:
        """The times without movement up to now."""
        return find_rests(self._strokes, self._start_s, self.now_s)

    def wait(self, span_s: float) -> None:
        """Do nothing for a while."""
        self.now_s += span_s

    def put_down(self, weight_g: float, step: str | None = None) -> None:
        """Set the bowl with all that is in it on the pan; ``step`` is what was added last."""
        span_s, fall_s = self._rng.uniform(0.06, 0.15), self._rng.uniform(0.01, 0.04)
        self._step = step
        self._lay(Landing(self.now_s, span_s, weight_g, fall_s))
        if self._rng.random() < 0.3:
            self._push(self._rng.uniform(0.15, 0.5), self._rng.uniform(10.0, 80.0))

    def lift(self, weight_g: float) -> None:
        """Take the bowl with all that is in it off the pan."""
        if self._rng.random() < 0.5:
            self._push(self._rng.uniform(0.1, 0.3), self._rng.uniform(10.0, 120.0))
        self._step = None
        self._lay(Landing(self.now_s, self._rng.uniform(0.08, 0.25), -weight_g))

    def drop(self, amount_g: float, step: str) -> None:
        """Let one scoop fall into the bowl."""
        self._step = step
        span_s, fall_s = self._rng.uniform(*_SCATTER_S), self._rng.uniform(*_FALL_S)
        self._lay(Landing(self.now_s, span_s, amount_g, fall_s))

    def sprinkle(self, amount_g: float, step: str) -> None:
        """Strew pinches into the bowl for some seconds."""
        self._step = step
        end_s = self.now_s + self._rng.uniform(*_SPRINKLE_S)
        starts: list[float] = []
        while self.now_s < end_s:
            starts.append(self.now_s)
            self.now_s += self._rng.uniform(*_PINCH_EVERY_S)
        sizes = [self._rng.uniform(0.5, 1.5) for _ in starts]
        for at_s, size in zip(starts, sizes, strict=True):
            share_g = amount_g * size / math.fsum(sizes)
            span_s, fall_s = self._rng.uniform(0.08, 0.2), self._rng.uniform(*_FALL_S)
            self._lay(Landing(at_s, span_s, share_g, fall_s))

    def take_back(self, amount_g: float, step: str) -> None:
        """Dip a tool into the bowl and take some off again."""
        self._step = step
        start_s = self.now_s
        self._push(self._rng.uniform(0.2, 0.6), self._rng.uniform(5.0, 60.0))
        self._lay(Landing(self.now_s, self._rng.uniform(0.1, 0.3), -amount_g))
        self.note(DisturbanceKind.TAKE_BACK, start_s)

    def press(self) -> None:
        """Lean on the bowl with a tool or a hand."""
        start_s = self.now_s
        force_g = math.exp(self._rng.uniform(*map(math.log, _PRESS_G)))
        self._push(self._rng.uniform(*_PRESS_S), force_g)
        self.note(DisturbanceKind.PRESS, start_s)

    def hit(self, key: Key) -> None:
        """Press a key of the scale, without touching the pan."""
        self.keys.append(KeyPress(self.now_s, key))
        kind = DisturbanceKind.TARE_KEY if key is Key.TARE else DisturbanceKind.UNIT_KEY
        self.note(kind, self.now_s)

    def note(self, kind: DisturbanceKind, start_s: float) -> None:
        """Remember that all done since then was such a disturbance."""
        self.disturbances.append(Disturbance(kind, start_s, self.now_s))

    def _push(self, span_s: float, force_g: float) -> None:
        edge_s = min(span_s / 2.0, self._rng.uniform(0.04, 0.15))
        tremor_hz = self._rng.uniform(3.0, 8.0)
        self._lay(Press(self.now_s, span_s, force_g, edge_s, tremor_hz))

    def _lay(self, stroke: Stroke) -> None:
        self._strokes.append((stroke, self._step))
        self.now_s = stroke.end_s
