"""Food was added, and the bowl lifted or the key pressed before the pan came to rest.

All that shows is how far the display rose meanwhile. Probabilities are of what cooks do; every
number is a starting point from simulated cooks.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

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


def added_unseen(
    belief: Belief, change: Change, plan: Plan
) -> Iterator[tuple[float, bool, Belief]]:
    """What food added unweighed made of the build.

    How much it was is not known: something between nothing and the rise.

    Yields:
        Probability, whether the display rose by about as much, and the build.
    """
    rise_g = rise(belief, change)
    now = gesture.intent(plan.aim(belief.group), belief.net_g, belief.gestures)
    level_g, u_g = belief.level_g + rise_g / 2, math.hypot(rise_g / 2, belief.level_u_g)
    seen = _about(rise_g, change, plan.aim(belief.group))
    more = belief.fed(level_g, u_g, belief.gestures + 1)
    yield _chance(seen=seen) * now.more, seen, more._replace(clear=False)
    if belief.ahead and belief.gestures:
        following = belief.ahead[:1]
        seen = _about(rise_g, change, plan.aim(following))
        begun = belief.begun(following, level_g, u_g, 1)
        yield _chance(seen=seen) * now.done, seen, begun._replace(clear=False)


def finished_unseen(belief: Belief, change: Change, plan: Plan) -> Iterator[tuple[float, Belief]]:
    """The build if all that was still to come was added at once before the lift.

    Yields:
        Probability and the build; nothing where the rise was not about as much, or where steps
        passed over or left to other scales would be missing still.
    """
    steps = plan.here(belief.to_come)
    done = 1.0
    if belief.gestures:
        done = gesture.intent(plan.aim(belief.group), belief.net_g, belief.gestures).done
    else:
        steps = (*belief.group, *steps)
    all_g = sum(plan.aims[step].usual_g for step in steps)
    rise_g, (least, most) = rise(belief, change), ABOUT_ALL
    if len(steps) < 2 or not max(least * all_g, CLEAR_U * change.rest.u_g) < rise_g < most * all_g:
        return
    came, after = 0.0, belief
    for step in steps:
        came += plan.aims[step].usual_g / all_g
        level_g = belief.level_g + came * rise_g / 2
        u_g = math.hypot(came * rise_g / 2, belief.level_u_g)
        after = after.begun((step,), level_g, u_g, 1)._replace(clear=False)
    if not after.ahead:
        yield ALL_OF_IT * done, after


def _about(rise_g: float, change: Change, aim: Aim) -> bool:
    least, most = (share * aim.scoop_g for share in ABOUT)
    return max(least, CLEAR_U * change.rest.u_g) < rise_g < most


def _chance(*, seen: bool) -> float:
    return HASTY if seen else NOT_HASTY
