"""What it says of the next step that a build was lifted off and set back after food came.

Bowls are handed on where the next step belongs to another position, and seldom lifted elsewhere.
Every number is a starting point taken from simulated cooks, not from measured kitchens.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Final, NamedTuple

from scaled.core.gesture import ASKED_AGAIN

if TYPE_CHECKING:
    from scaled.core.next_step import Choices
    from scaled.core.plan import Plan

P_LIFTED: Final = 0.03
"""The bowl is lifted for no reason in the profile and set back."""
P_HANDED_ON: Final = 0.30
"""... or handed on, where the next step belongs to another position and comes later in the
profile: a bowl seldom goes back for what was passed over."""


class HandedOn(NamedTuple):
    """What comes next after food and a lift.

    Attributes:
        chance: Probability of a lift to be set back.
        more: Odds, after it, that the open step gets more.
        steps: The steps that may be next instead, each with its odds after it times its
            probability.
    """

    chance: float
    more: float
    steps: Choices


def handed_on(step: int, steps: Choices, done: float, plan: Plan) -> HandedOn:
    """What a lift says, and how likely there is one.

    Args:
        step: The last one that holds food.
        steps: Those that may be next once it is done, each with its probability.
        done: Probability that it is done.
        plan: What the build should be.
    """
    return _handed_on(step, steps, done, plan.positions)


@lru_cache(ASKED_AGAIN)
def _handed_on(
    step: int, steps: Choices, done: float, positions: tuple[str | None, ...]
) -> HandedOn:
    further = {o for o, _ in steps if o > step and positions[o] != positions[step]}
    lifted = [
        (other, share * (P_HANDED_ON if other in further else P_LIFTED)) for other, share in steps
    ]
    other_ways = 1 - done * sum(share for _, share in steps)
    chance = P_LIFTED * other_ways + done * sum(share for _, share in lifted)
    after = tuple([(other, share / chance) for other, share in lifted])
    return HandedOn(chance, P_LIFTED / chance, after)
