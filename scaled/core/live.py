"""What a cook's screen needs to know at every reading; words and looks are the screen's."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from scaled.core.events import Attribution, Doubt, Verdict


class Ask(StrEnum):
    """The one thing to do next."""

    PLACE = "place"
    """Set the empty container on the scale."""
    ADD = "add"
    """Portion the current ingredient; ``amount_g`` to go, in ``scoops`` gestures."""
    TAKE_BACK = "take_back"
    """Take ``amount_g`` of the current ingredient off again."""
    NEXT = "next"
    """The step is good: go on with ``next_step``."""
    RETURN = "return"
    """The build is off the pan with steps to go: set it back."""
    HAND_OVER = "hand_over"
    """All that is done here is done: the build goes on where ``next_step`` belongs."""
    LIFT = "lift"
    """All steps are done: the build can go."""
    WAIT = "wait"
    """The weight is moving or a hand is on the bowl."""
    CHECK = "check"
    """It is not clear whether ``step`` was added: press next if so, undo if not, or ask the
    trainer. Also where nothing was taken back of it for long."""


class StepState(StrEnum):
    """Where a step stands in this build."""

    TODO = "todo"
    OPEN = "open"
    DONE = "done"


@dataclass(frozen=True, slots=True)
class Rung:
    """One step of the ladder.

    ``net_g`` is None until something was added. ``verdict`` is None unless ``state`` is DONE.
    """

    step: str
    state: StepState = StepState.TODO
    net_g: float | None = None
    verdict: Verdict | None = None
    attribution: Attribution | None = None
    skipped: bool = False
    doubt: Doubt | None = None


@dataclass(frozen=True, slots=True)
class Odd:
    """A container that is not right for the dish.

    Attributes:
        name: Which known one it is; None when that cannot be said.
        tare_g: What it weighs.
    """

    name: str | None
    tare_g: float


@dataclass(frozen=True, slots=True)
class Provisional:
    """Where a weight that still moves seems to come to rest: good for a gauge, not for a word.

    Attributes:
        net_g: Weight in the step shown.
        u_g: Standard uncertainty of that, the display's movement counted in.
    """

    net_g: float
    u_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Live:
    """The build as it stands at one reading.

    Attributes:
        t: Time of the reading, s.
        build: Count from 1; 0 before the first container.
        ask: What to do next.
        step: The step being filled, None when there is none.
        joint_with: Steps poured together with it: their weight, band and amount are counted in.
        net_g: Weight in that step so far, following the display while it moves.
        u_g: Standard uncertainty of ``net_g``; meaningful when ``settled``.
        settled: The pan is at rest.
        provisional: Where ``net_g`` is going; None at rest, and while that cannot be said.
        amount_g: Weight to add or take back; 0 when the ask has none.
        scoops: Gestures that make ``amount_g`` (whole, at least 1); 0 when the ask has none.
        low_g: Least weight of the step that passes, a guard band counted in; 0 when there is
            none.
        target_g: What it aims at.
        high_g: Most that passes.
        next_step: The step after this one, None at the last.
        confidence: Probability that ``step`` is the right one.
        pan_g: Weight on the pan since the last empty pan, container included.
        total_net_g: Food in the container so far.
        ladder: Every step in profile order.
        confirms: Ids of the checks not yet answered in this build.
        odd: What the build stands in when that is not right for it.
        doubt: Why the step cannot pass even on its target, None when it can.
    """

    t: float
    build: int
    ask: Ask
    step: str | None
    joint_with: tuple[str, ...] = ()
    net_g: float
    u_g: float
    settled: bool
    provisional: Provisional | None = None
    amount_g: float
    scoops: int
    low_g: float = 0.0
    target_g: float = 0.0
    high_g: float = 0.0
    next_step: str | None
    confidence: float
    pan_g: float
    total_net_g: float
    ladder: tuple[Rung, ...]
    confirms: tuple[str, ...] = ()
    odd: Odd | None = None
    doubt: Doubt | None = None
