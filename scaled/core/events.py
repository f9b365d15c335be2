"""The one vocabulary: what the core says, the journal stores and the wire carries.

Every event has ``event`` (its name), ``t`` (time of the reading that caused it, seconds) and
``build`` (count from 1 within the session; 0 before the first container).
An event carries the core's own numbers; how they are written is :mod:`scaled.core.event_line`.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import ClassVar


class Verdict(StrEnum):
    """What is said of a portion or a finished build."""

    PASS = "pass"  # noqa: S105 -- a verdict, not a secret
    OVER = "over"
    UNDER = "under"
    UNSURE = "unsure"


class Attribution(StrEnum):
    """How sure it is that a weight belongs to its step."""

    SURE = "sure"
    UNSURE = "unsure"
    JOINT = "joint"


class Doubt(StrEnum):
    """Why a weight whose step is sure has no verdict but unsure."""

    NEAR_LIMIT = "near_limit"
    """Inside the limits, but not by as much as the profile's guarded acceptance asks."""
    TOO_COARSE = "too_coarse"
    """It is known too coarsely for this tolerance: no weight in it could be told to pass."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """What all events carry."""

    event: ClassVar[str]
    t: float
    build: int


@dataclass(frozen=True, slots=True, kw_only=True)
class BuildStarted(Event):
    """A container was set down and a build began.

    Attributes:
        tare_g: Its measured weight, None when food came with it and it is taken to be the
            profile's.
        u_g: Standard uncertainty of the weight, measured or taken.
        container: Name of the known container that it most likely is; None when it is none of
            those, or was not weighed.
        confidence: Probability of that; None when it was not weighed.
    """

    event: ClassVar[str] = "build_started"
    tare_g: float | None
    u_g: float
    container: str | None = None
    confidence: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OddContainer(Event):
    """The container is not the profile's, nor another that the dish may be built in.

    Attributes:
        tare_g: What it weighs.
        expected_g: What the profile's weighs.
        container: The known container that it is; None when it weighs like none of them, or like
            several.
        expected: Name of the profile's.
    """

    event: ClassVar[str] = "odd_container"
    tare_g: float
    expected_g: float
    container: str | None = None
    expected: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Settled(Event):
    """The pan came to rest; provisional.

    ``net_g`` is what the step holds so far. ``verdict`` is None while the step is simply not
    finished yet: that is never called "under".
    """

    event: ClassVar[str] = "settled"
    step: str | None
    net_g: float | None
    u_g: float
    verdict: Verdict | None
    confidence: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Portion(Event):
    """A step's final word.

    Attributes:
        u_g: Standard uncertainty of ``net_g``, the scale's own error counted in.
        confidence: Probability that the true weight supports the verdict; of an unsure one with
            a ``doubt``, that it is inside the limits.
        joint_with: Other steps that share this weight when only their sum is known; their
            ``net_g`` is the sum.
        skipped: Nothing was added for this step.
        u_scale_g: What the scale's own error has in ``u_g``; None: nothing is known of it.
        doubt: Why the verdict is unsure though the step is sure.
    """

    event: ClassVar[str] = "portion"
    step: str
    net_g: float | None
    u_g: float | None
    verdict: Verdict
    confidence: float
    attribution: Attribution
    joint_with: tuple[str, ...] = ()
    skipped: bool = False
    u_scale_g: float | None = None
    doubt: Doubt | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reopened(Event):
    """A key press took back a step's final word; a later ``portion`` replaces it."""

    event: ClassVar[str] = "reopened"
    step: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenBack(Event):
    """Some of a step's ingredient was taken off again, from where it had lain still."""

    event: ClassVar[str] = "taken_back"
    step: str
    amount_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OutOfOrder(Event):
    """A step was begun before its turn; ``expected`` was due."""

    event: ClassVar[str] = "out_of_order"
    step: str
    expected: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Lifted(Event):
    """The build was lifted off the pan."""

    event: ClassVar[str] = "lifted"
    net_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Returned(Event):
    """The build was set back; ``change_g`` is how much its weight changed meanwhile."""

    event: ClassVar[str] = "returned"
    net_g: float
    change_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Finished(Event):
    """The build is complete or was ended; ``net_g`` counts the food only.

    ``u_g``, ``confidence``, ``u_scale_g`` and ``doubt`` are as in :class:`Portion`.
    """

    event: ClassVar[str] = "finished"
    net_g: float | None
    u_g: float | None
    verdict: Verdict
    confidence: float
    duration_s: float
    u_scale_g: float | None = None
    doubt: Doubt | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rezeroed(Event):
    """The scale's zero or tare key was pressed; the display jumped by ``shift_g``."""

    event: ClassVar[str] = "rezeroed"
    shift_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class UnitChanged(Event):
    """The display's unit changed."""

    event: ClassVar[str] = "unit_changed"
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Confirmed(Event):
    """A check that no scale can see was answered by a person."""

    event: ClassVar[str] = "confirmed"
    confirm: str
    held: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Noted(Event):
    """A person wrote a remark."""

    event: ClassVar[str] = "noted"
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Tapped(Event):
    """A person pressed a key that moves the build: ``next`` or ``undo``."""

    event: ClassVar[str] = "tapped"
    key: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SignalLost(Event):
    """Readings stopped: the scale is silent, or its line went away."""

    event: ClassVar[str] = "signal_lost"
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SignalBack(Event):
    """Readings are back."""

    event: ClassVar[str] = "signal_back"
    gap_s: float
