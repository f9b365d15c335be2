"""Food was added, and the bowl lifted or the key pressed before the pan came to rest.

All that shows is how far the display rose meanwhile. Probabilities are of what cooks do; every
number is a starting point from simulated cooks.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final, NamedTuple

from scaled.core import gesture

if TYPE_CHECKING:
    from scaled.core.belief import Belief
    from scaled.core.food import Change
    from scaled.core.gesture import Aim
    from scaled.core.plan import Plan

HASTY: Final = 0.1
"""Food was added unweighed, if the display rose by about as much as a gesture;"""
NOT_HASTY: Final = 0.002
"""... and if it did not."""
ABOUT: Final = (0.3, 3.0)
"""Rises that may be food, as shares of its gesture; a hand that grips the bowl presses more."""
ALL_OF_IT: Final = 0.02
"""Share of builds finished so quickly that the pan rests no more before they are lifted, if the
display rose by about as much as all that was still to come;"""
ABOUT_ALL: Final = (0.75, 1.5)
"""... these are shares of that."""
CLEAR_U: Final = 4.0
"""A rise is more than so many standard uncertainties of the level."""


def rise(belief: Belief, change: Change) -> float:
    """How far the display rose since the last rest, g."""
    return max(change.rest.peak_g - belief.level_g, 0.0)


class Unseen(NamedTuple):
    """Food that was added unweighed.

    How much it was is not known: something between nothing and the rise.

    Attributes:
        chance: Probability of it.
        seen: The display rose by about as much.
        group: The step, or two poured together, that got it.
        rise_g: How far the display rose.
    """

    chance: float
    seen: bool
    group: tuple[int, ...]
    rise_g: float

    def put_into(self, belief: Belief) -> Belief:
        """The build it was asked of, with it."""
        level_g = belief.level_g + self.rise_g / 2
        u_g = math.hypot(self.rise_g / 2, belief.level_u_g)
        if self.group == belief.group:
            return belief.fed(level_g, u_g, belief.gestures + 1).doubted()
        return belief.begun(self.group, level_g, u_g, 1).doubted()


def added_unseen(belief: Belief, change: Change, plan: Plan) -> list[Unseen]:
    """What food may have been added unweighed: more of the open step, or the first of the next."""
    rise_g, aim = rise(belief, change), plan.aim(belief.group)
    now = gesture.intent(aim, belief.net_g, belief.gestures)
    seen = _about(rise_g, change, aim)
    added = [Unseen(_chance(seen=seen) * now.more, seen, belief.group, rise_g)]
    if belief.ahead and belief.gestures:
        following = belief.ahead[:1]
        seen = _about(rise_g, change, plan.aim(following))
        added.append(Unseen(_chance(seen=seen) * now.done, seen, following, rise_g))
    return added


def finished_unseen(belief: Belief, change: Change, plan: Plan) -> Iterator[tuple[float, Belief]]:
    """The build if all that was still to come was added at once before the lift.

    Yields:
        Probability and the build; nothing where the rise was not about as much, or where steps
        passed over or left to other scales would be missing still.
    """
    rise_g = rise(belief, change)
    if rise_g <= CLEAR_U * change.rest.u_g:
        return
    steps = plan.here(belief.to_come)
    done = 1.0
    if belief.gestures:
        done = gesture.intent(plan.aim(belief.group), belief.net_g, belief.gestures).done
    else:
        steps = (*belief.group, *steps)
    all_g = sum(plan.aims[step].usual_g for step in steps)
    least, most = ABOUT_ALL
    if len(steps) < 2 or not least * all_g < rise_g < most * all_g:
        return
    came, after = 0.0, belief
    for step in steps:
        came += plan.aims[step].usual_g / all_g
        level_g = belief.level_g + came * rise_g / 2
        u_g = math.hypot(came * rise_g / 2, belief.level_u_g)
        after = after.begun((step,), level_g, u_g, 1).doubted()
    if not after.ahead:
        yield ALL_OF_IT * done, after


def _about(rise_g: float, change: Change, aim: Aim) -> bool:
    least, most = (share * aim.scoop_g for share in ABOUT)
    return max(least, CLEAR_U * change.rest.u_g) < rise_g < most


def _chance(*, seen: bool) -> float:
    return HASTY if seen else NOT_HASTY
