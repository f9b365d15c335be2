"""How well a description reads the lesson it was learnt from."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from drivers.learning.lesson import Deed
from drivers.learning.sheet import SLACK
from scaled.core.reading import GRAMS, Reading

if TYPE_CHECKING:
    from drivers.described.model import ScaleFormat
    from drivers.learning.lesson import Lesson, Phase
    from scaled.protocol import Decoder

_READ: Final = 0.8
"""Share of the frames that must be read."""

_KEPT: Final = 0.04
"""Steps of the display, as a share of the known weight, that a coarse scale may be off."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """How a description did.

    Attributes:
        readings: Readings it made of the lesson.
        dropped: Frames it could not read.
        right: Phases at whose end it showed what was on the pan, signs included.
        phases: Phases there were.
        parts: How many of unit, stability and checksum it knows.
        loose: Bytes it skips without knowing what they are.
    """

    readings: int
    dropped: int
    right: int
    phases: int
    parts: int
    loose: int

    @property
    def share(self) -> float:
        """Share of the frames that it reads; the first may have been heard from its middle."""
        return self.readings / max(self.readings + max(self.dropped - 1, 0), 1)

    @property
    def reads(self) -> bool:
        """Whether it can be said to read the lesson at all."""
        return self.readings > 0 and self.share >= _READ and self.right == self.phases

    @property
    def score(self) -> tuple[float, ...]:
        """Orders descriptions of one lesson, the better ones higher.

        One that takes what begins the next frame for the end of this one reads one frame less.
        """
        return (round(self.share, 2), self.parts, -self.loose, self.share, self.readings)


def judge(lesson: Lesson, decoder: Decoder, description: ScaleFormat) -> Verdict:
    """Read the lesson with a fresh decoder of the description."""
    last: dict[int, Reading] = {}
    marked, readings = set(), 0
    for (t, data), at in zip(lesson.pieces, _phases(lesson), strict=True):
        for frame in decoder.feed(data, t):
            if isinstance(frame, Reading):
                readings += 1
                last[at] = frame
                marked.add(frame.stable)
    right = sum(
        at in last and _is_right(last[at], phase) for at, phase in enumerate(lesson.phases)
    )
    kinds = [field.kind for field in description.fields]
    parts = ("unit" in kinds) + (marked >= {True, False}) + bool(description.frame.checksum)
    return Verdict(
        readings, decoder.dropped, right, len(lesson.phases), parts, kinds.count("skip")
    )


def _phases(lesson: Lesson) -> list[int]:
    at, phases = 0, []
    for t, _ in lesson.pieces:
        while at + 1 < len(lesson.phases) and lesson.phases[at + 1].begins_at <= t:
            at += 1
        phases.append(at)
    return phases


def _is_right(reading: Reading, phase: Phase) -> bool:
    shown_g = reading.weight * (GRAMS[reading.unit] if reading.unit else 1.0)
    if phase.deed is Deed.EMPTY:
        return True
    if reading.unit is None:
        return reading.weight * phase.load_g > 0
    return abs(shown_g - phase.load_g) <= max(SLACK, _KEPT) * abs(phase.load_g)
