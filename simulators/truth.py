"""What really happened, for whoever scores an engine against a simulated run.

Times are seconds on the simulation's clock, weights grams of food (or of the container) that
truly lay there, untouched by the scale's errors.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from simulators.stroke import Stroke


class DisturbanceKind(StrEnum):
    """Something that is no plain adding of the next ingredient."""

    PRESS = "press"
    """A tool or hand pushed on the bowl; nothing stayed."""
    TAKE_BACK = "take_back"
    """Some of the step's ingredient was taken off again."""
    LIFT = "lift"
    """The bowl was lifted and set back, its content unchanged."""
    SWAP = "swap"
    """The bowl was taken away unfinished; a new empty one follows."""
    TARE_KEY = "tare_key"
    """The scale's tare key was pressed: the display jumped to zero."""
    UNIT_KEY = "unit_key"
    """The scale's unit key was pressed."""
    DROPPED = "dropped"
    """A reading never arrived."""
    DUPLICATED = "duplicated"
    """A reading arrived twice."""
    GARBLED = "garbled"
    """A reading arrived with a wrong digit."""


@dataclass(frozen=True, slots=True)
class Disturbance:
    """One of them, from when to when; an instant has both the same."""

    kind: DisturbanceKind
    start_s: float
    end_s: float


@dataclass(frozen=True, slots=True)
class PortionTruth:
    """What one step really got.

    Attributes:
        step: The step's id.
        net_g: Food of this step in the bowl at the end; 0 when it got none.
        start_s: When the first of it touched, None when it got none.
        end_s: When its last landing or take-back was over, None when it got none.
        turn: Its place in the order really built, from 0; None when it got none.
        joint_with: Id of the step added before it without a pause between, or None: only the
            sum of the two was ever at rest on the pan.
    """

    step: str
    net_g: float = 0.0
    start_s: float | None = None
    end_s: float | None = None
    turn: int | None = None
    joint_with: str | None = None


@dataclass(frozen=True, slots=True)
class Rest:
    """The load stood still, at ``load_g``, from ``start_s`` to ``end_s``.

    Begins when the last movement of the load ended (the scale still swings then) and ends when
    the next began. ``step`` is the step that last got or lost food, None before the first and
    off the pan.
    """

    start_s: float
    end_s: float
    load_g: float
    step: str | None


@dataclass(frozen=True, slots=True)
class BuildTruth:
    """One container, from set down to taken away.

    Attributes:
        number: Count from 1; abandoned builds count.
        tare_g: What this container weighs.
        placed_s: When it stood on the pan.
        lifted_s: When it had left the pan for good.
        portions: One for each step of the recipe, in the recipe's order.
        disturbances: In the order they began.
        rests: All times without movement until the next build begins, in order: the last is
            the empty pan after it, and the first build has the empty pan before it as well.
        abandoned: Taken away unfinished, never to return.
    """

    number: int
    tare_g: float
    placed_s: float
    lifted_s: float
    portions: tuple[PortionTruth, ...]
    disturbances: tuple[Disturbance, ...]
    rests: tuple[Rest, ...]
    abandoned: bool = False

    @property
    def net_g(self) -> float:
        """All food in the container when it was lifted, g."""
        return sum(portion.net_g for portion in self.portions)


def find_rests(
    strokes: Iterable[tuple[Stroke, str | None]], start_s: float, end_s: float
) -> tuple[Rest, ...]:
    """The times between ``start_s`` and ``end_s`` in which no stroke moves the load.

    Args:
        strokes: Each with the step whose food is on the pan once it began; any order.
        start_s: From here; nothing is on the pan yet.
        end_s: To here.
    """
    rests: list[Rest] = []
    still_s, load_g = start_s, 0.0
    step: str | None = None
    for stroke, its_step in sorted(strokes, key=lambda pair: pair[0].start_s):
        if stroke.start_s > still_s:
            rests.append(Rest(still_s, stroke.start_s, load_g, step))
        still_s = max(still_s, stroke.end_s)
        load_g += stroke.stays_g
        step = its_step
    if end_s > still_s:
        rests.append(Rest(still_s, end_s, load_g, step))
    return tuple(rests)
