"""Events of a build that goes from one scale to another.

The scale that it leaves says ``handed_over`` and, once told where it is, ``collected``. The one
that it comes to is told of it (``expected``, or ``forgotten``) and says ``taken_over``.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

from scaled.core.command import Collect, Expect, Forget
from scaled.core.events import Event

if TYPE_CHECKING:
    from scaled.core.transit import Transit


@dataclass(frozen=True, slots=True, kw_only=True)
class HandedOver(Event):
    """The build goes on elsewhere: the last word on it here, the steps done here were judged.

    ``net_g`` is the food in it, ``u_g`` the standard uncertainty of that.
    """

    event: ClassVar[str] = "handed_over"
    net_g: float
    u_g: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Collected(Event):
    """This scale was told that another one has its build of that number."""

    event: ClassVar[str] = "collected"
    collected: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected(Event):
    """This scale was told that a build may be set down on it."""

    event: ClassVar[str] = "expected"
    transit: Transit


@dataclass(frozen=True, slots=True, kw_only=True)
class Forgotten(Event):
    """This scale was told that a build will not come after all."""

    event: ClassVar[str] = "forgotten"
    origin: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenOver(Event):
    """A build that was on its way is here.

    Attributes:
        origin: Which one.
        became: The number it goes on under; None when it came with others that weigh like it, so
            that nobody can say which of them it is.
    """

    event: ClassVar[str] = "taken_over"
    origin: str
    became: int | None


Told = Expected | Forgotten | Collected
"""What a scale was told by others; the rest it says itself."""


def command_behind(told: Told) -> Expect | Forget | Collect:
    """The command that made a scale say that it was told."""
    match told:
        case Expected(transit=transit):
            return Expect(transit)
        case Forgotten(origin=origin):
            return Forget(origin)
    return Collect(told.collected)
