"""What a new rest may mean when builds are on their way here from other scales.

Each belief knows which of them are still on their way, so that two of like weight are told
apart only as far as weight can: when both have come, both are gone in every belief.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from scaled.core.belief import Belief, Mode
from scaled.core.food import NOTHING, Change, Move, Successor, fed
from scaled.core.gesture import flat, normal

if TYPE_CHECKING:
    from scaled.core.plan import Plan
    from scaled.core.share import Ended

P_ARRIVES: Final = 0.8
"""What comes next onto a free pan is a build that is on its way, if there is one."""
AGREE_SHARE: Final = 0.002
"""Two kitchen scales differ by about this share of the load, adjusted as they mostly are,"""
AGREE_G: Final = 0.5
"""... and by this much, crumbs and drops lost on the way included."""
P_CHANGED: Final = 0.02
"""It weighs more or less than any portion explains, by up to ``CHANGED_G``."""
CHANGED_G: Final = 300.0
P_FED: Final = 0.06
"""It was fed on the way."""


def arriving(
    belief: Belief, change: Change, plan: Plan, ended: Ended | None
) -> Iterator[Successor]:
    """One of the builds that are on their way is set down here.

    Args:
        belief: Before it; the pan is free, or ``ended`` leaves it at this moment.
        change: To the new rest.
        plan: What the build should be.
        ended: The build that stood here before, if it was not told yet.
    """
    for build in belief.coming:
        left = tuple([other for other in belief.coming if other is not build])
        for share, course in build.courses:
            here = course.rezeroed(belief.zero_g)._replace(
                mode=Mode.ON,
                level_u_g=math.hypot(course.level_u_g, AGREE_SHARE * course.level_g, AGREE_G),
                fresh=True,
                ended=ended,
                coming=left,
                origin=build,
            )
            chance = P_ARRIVES * share / len(belief.coming)
            for density, after in _set_down(here, course, change, plan):
                if chance * density > NOTHING:
                    yield chance * density, after, Move.PLACED


def _set_down(
    here: Belief, course: Belief, change: Change, plan: Plan
) -> Iterator[tuple[float, Belief]]:
    """The build as it was, changed or fed on the way.

    Args:
        here: It as this scale should show it, the scales' difference in its uncertainty.
        course: It as the other scale showed it.
        change: To the new rest.
        plan: What the build should be.
    """
    rest = change.rest
    seen = Change.of(here, rest)
    yield normal(seen.by_g, seen.u_g), _shown_here(here, course, rest.level_g, rest.u_g)
    yield P_CHANGED * flat(abs(seen.by_g), CHANGED_G) / 2, here.unexplained(rest.level_g)
    for density, after, _ in fed(here, seen, plan):
        yield P_FED * density, after


def _shown_here(here: Belief, course: Belief, level_g: float, u_g: float) -> Belief:
    """The same build at this scale's level: what the scales differ by is no food.

    Weights so far keep the uncertainty that they had on the other scale.
    """
    shift_g = level_g - here.level_g
    start_u = math.hypot(course.level_u_g, course.start_u_g)
    base_u = math.hypot(course.level_u_g, course.base_u_g)
    return here._replace(
        level_g=level_g,
        level_u_g=u_g,
        base_g=here.base_g + shift_g,
        base_u_g=_without(base_u, u_g),
        start_g=here.start_g + shift_g if course.gestures else level_g,
        start_u_g=_without(start_u, u_g) if course.gestures else u_g,
    )


def _without(whole_u_g: float, part_u_g: float) -> float:
    """What is left of an uncertainty when a part of it is counted elsewhere."""
    return math.sqrt(max(whole_u_g * whole_u_g - part_u_g * part_u_g, 0.0))
