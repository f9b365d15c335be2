"""How likely a build is lifted off now: to be set back, or because it is done.

Every number is a starting point taken from simulated cooks, not from measured kitchens.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

from scaled.core import gesture
from scaled.core.handing_on import P_LIFTED, handed_on
from scaled.core.next_step import choices, long_ago

if TYPE_CHECKING:
    from scaled.core.belief import Belief
    from scaled.core.plan import Plan

P_DONE: Final = 0.60
"""A build that has all of its steps is carried off."""
LEFT_OUT: Final = 0.04
"""... for each step at the end that it lacks: one cook in so many forgets it,"""
PASSED_OVER: Final = 0.4
"""... and for the one passed over just before: half of those are only out of order,"""
FORGOTTEN: Final = 0.6
"""... or earlier: most of those were forgotten."""
ABANDONED: Final = 0.05
"""A build lifted before its end is given up, and a new one begun."""
P_BACK: Final = 0.65
"""A build lifted to be set back is seen to return as it was."""
P_BACK_DONE: Final = 0.15
"""One that was done seldom does: turned round, shown to somebody."""
P_NEXT: Final = 0.80
"""A build that is gone is followed by the next container."""


class Leaving(NamedTuple):
    """Probabilities that a build leaves the pan now.

    Attributes:
        before: To be set back: steps are still to come.
        done: For good.
    """

    before: float
    done: float

    @property
    def chance(self) -> float:
        """That it leaves at all."""
        return self.before + self.done

    @property
    def back(self) -> float:
        """That a build which has left is set back next."""
        return (P_BACK * self.before + P_BACK_DONE * self.done) / self.chance

    @property
    def gone(self) -> float:
        """That the next container comes after a build which has left."""
        return P_NEXT * (ABANDONED * self.before + self.done) / self.chance


def leaving(belief: Belief, plan: Plan) -> Leaving:
    """How likely the build leaves as it stands under a belief."""
    now = gesture.intent(plan.aim(belief.group), belief.net_g, belief.gestures)
    passed, to_come = belief.parted
    after = to_come[0] if to_come else len(plan.aims)
    to_come = plan.here(to_come)
    done = P_DONE * now.done * LEFT_OUT ** len(to_come)
    for step in passed:
        done *= FORGOTTEN if long_ago(step, after) else PASSED_OVER
    return Leaving(_handed_on(belief, to_come, now.done, plan), done)


def _handed_on(belief: Belief, to_come: tuple[int, ...], done: float, plan: Plan) -> float:
    if not belief.gestures:
        return P_LIFTED  # a step that is still empty hands nothing on
    steps = choices(belief.passed, to_come, begun=True)
    return handed_on(belief.group[-1], steps, done, plan).chance
