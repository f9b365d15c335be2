"""What a check of a scale asks for next, and what keeps it from going on."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scaled.core.checkup import Lay


class Hitch(StrEnum):
    """What keeps a check from going on."""

    MOVING = "moving"
    """The pan does not come to rest."""
    OTHER_WEIGHT = "other_weight"
    """What lies there is not what was asked for, or the scale is far off."""
    NOT_EMPTY = "not_empty"
    """Something was left on the pan, or the scale's zero is far off."""
    NOT_ZERO = "not_zero"
    """The pan seems empty and the display does not stand at zero."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be done now.

    Attributes:
        number: Which load it is about, from 1; the pan is emptied before the load of that number
            and, last, after them all.
        of: How many loads there are.
        lay: The load to put on; None: empty the pan.
        hitch: What is in the way, None while nothing is.
    """

    number: int
    of: int
    lay: Lay | None
    hitch: Hitch | None = None
