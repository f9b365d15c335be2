"""Which step a cook turns to next.

Every number is a starting point taken from simulated cooks, not from measured kitchens.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from scaled.core.belief import Belief

P_IN_ORDER: Final = 0.95
P_AFTER_KEY: Final = 0.99
"""... when a person closed the step before with a key: the screen shows which one is next."""
NEARER: Final = 0.4
"""Who leaves the order takes the next step but one; each further one is this much rarer."""
P_COMES_BACK: Final = 0.45
"""A step passed over is done next, out of order,"""
P_COMES_LATE: Final = 0.2
"""... or before a later one, each time; else it is left out."""

Choices = tuple[tuple[int, float], ...]
"""Steps, each with its probability."""


def in_order(belief: Belief) -> float:
    """Probability that food goes into the open step, which holds nothing yet."""
    return P_AFTER_KEY if belief.closed else P_IN_ORDER


def long_ago(passed: int, to_come: int) -> bool:
    """Whether a step was passed over more than one step ago, seen from the first still to come."""
    return to_come - passed > 2


@lru_cache
def choices(passed: tuple[int, ...], to_come: tuple[int, ...], begun: bool) -> Choices:
    """The steps that may come next, each with its probability.

    Args:
        passed: Steps passed over, in profile order.
        to_come: Steps that come after all that are done or open, in profile order.
        begun: The open step is done; otherwise it is empty and passed over as well.
    """
    found = []
    back = float(bool(passed))
    if passed and to_come:
        back = P_COMES_LATE if long_ago(passed[-1], to_come[0]) else P_COMES_BACK
    for place, step in enumerate(reversed(passed)):
        found.append((step, back * (1 - NEARER) * NEARER**place))
    in_turn = P_IN_ORDER if begun else 0.0
    for place, step in enumerate(to_come):
        first = in_turn if place == 0 else 0.0
        further = place - 1 if begun else place
        others = (1 - in_turn) * (1 - NEARER) * NEARER**further if further >= 0 else 0.0
        found.append((step, (1 - back) * (first + others)))
    return tuple(found)
