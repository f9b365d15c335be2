"""What a scale shows while it is being learnt: empty, a known weight, the unit key, below zero."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from random import Random

from simulators.chance import stream
from simulators.display import Division, Shown

_RATE_HZ = 10
_LIGHT_S = 0.6
"""How long the scale waits at one weight before its stable light comes on."""


@dataclass(slots=True)
class Lesson:
    """A hand at a scale that is being learnt.

    Attributes:
        shown: What the scale shows, oldest first.
        marks: When each phase began, s, and what it is, as it stands in a capture.
    """

    shown: list[Shown] = field(default_factory=list)
    marks: list[tuple[float, str]] = field(default_factory=list)


def lesson(seed: int, known_g: int, units: tuple[str, ...], division: str = "0.1g") -> Lesson:
    """The lesson with one known weight on a scale with these units on its key, the first shown."""
    hand = _Hand(stream(seed, "lesson"), Division.parse(division))
    hand.unit = units[0]
    hand.phase("empty")
    hand.rest(3.0)
    hand.phase(f"{known_g} g")
    hand.load(known_g)
    hand.rest(3.0)
    if len(units) > 1:
        hand.phase("unit key")
        for unit in (*units[1:], units[0]):
            hand.unit = unit
            hand.rest(1.2)
    hand.phase("below zero")
    hand.tare()
    hand.rest(2.0)
    hand.load(0)
    hand.rest(2.0)
    return hand.lesson


def ordinary_use(seed: int, units: tuple[str, ...], division: str = "0.1g") -> Iterator[Shown]:
    """Later use of the same scale: other weights, any unit, with and without tare."""
    chance = stream(seed, "use")
    hand = _Hand(chance, Division.parse(division))
    for _ in range(6):
        hand.unit = chance.choice(units)
        hand.load(chance.uniform(1, 900))
        hand.rest(1.0)
        if chance.random() < 0.5:
            hand.tare()
            hand.rest(0.8)
            hand.load(0)
            hand.rest(1.0)
    yield from hand.lesson.shown


class _Hand:
    """Puts weights on and presses keys; the scale shows what comes of it, ten times a second."""

    def __init__(self, chance: Random, division: Division) -> None:
        self.lesson = Lesson()
        self.unit = "g"
        self._chance = chance
        self._division = division
        self._load_g = self._tare_g = 0.0
        self._still_s = 9.0

    def phase(self, mark: str) -> None:
        shown = self.lesson.shown
        self.lesson.marks.append((shown[-1].t + 0.05 if shown else 0.0, mark))

    def tare(self) -> None:
        self._tare_g = self._load_g

    def load(self, load_g: float) -> None:
        """Bring another load on; the hand makes the pan overshoot a little."""
        before, steps = self._load_g, self._chance.randint(6, 10)
        for step in range(1, steps):
            share = step / steps + self._chance.uniform(-0.05, 0.05)
            self._load_g = before + (load_g - before) * share
            self._still_s = 0.0
            self._show()
        self._load_g = load_g

    def rest(self, rest_s: float) -> None:
        for _ in range(round(rest_s * _RATE_HZ)):
            self._still_s += 1 / _RATE_HZ
            self._show()

    def _show(self) -> None:
        t = len(self.lesson.shown) / _RATE_HZ
        division = self._division.to(self.unit)
        weight = division.round(self._load_g - self._tare_g)
        self.lesson.shown.append(
            Shown(
                t,
                weight if weight else Decimal(0).quantize(division.size),
                self.unit,
                stable=self._still_s > _LIGHT_S,
                net=self._tare_g != 0.0,
            )
        )
