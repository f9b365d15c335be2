"""A bowl that was filled, to some step, while nobody weighed it.

Every number is a starting point from simulated cooks.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache
from typing import TYPE_CHECKING, Final, NamedTuple

from scaled.core import set_down
from scaled.core.belief import Belief
from scaled.core.gesture import FINE_G, normal
from scaled.core.share import Share

if TYPE_CHECKING:
    from scaled.core.container import Known
    from scaled.core.gesture import Aim
    from scaled.core.plan import Plan

FOOD_SPREAD: Final = 0.1
"""Spread of what is in the bowl, as a share of what should be,"""
NEWEST_SPREAD: Final = 0.3
"""... and of its newest step, which may not be full yet."""


def under_way(standing: Belief, plan: Plan, least: float = 0.0) -> Iterator[tuple[float, Belief]]:
    """A build somewhere on its way in a known container; none of its weights can be told.

    Args:
        standing: The bowl taken for an empty container.
        plan: What the build should be.
        least: Densities below this are hopeless and left out.

    Yields:
        Density of the bowl's weight when a step is its newest, and the belief that it is.
    """
    share = 1 / len(plan.steps) / len(plan.containers.right)
    for known in plan.containers.right:
        base_g = standing.zero_g + known.tare_g
        food_g = standing.level_g - base_g
        for step, newest in enumerate(_newest(known, plan.aims)):
            if share * newest.densest <= least:
                continue
            density = share * normal(food_g - newest.before_g - newest.target_g, newest.spread_g)
            if density > least:
                began = set_down.standing(standing, known.tare_g, known.spread_g)
                yield (
                    density,
                    began._replace(
                        group=(step,),
                        ahead=tuple(range(step + 1, len(plan.steps))),
                        start_g=base_g + newest.before_g,
                        start_u_g=newest.before_u_g,
                        gestures=plan.aims[step].scoops,
                        clear=False,
                        strange=True,
                        closed=tuple(_unseen(done, plan) for done in range(step)),
                    ),
                )


class _Newest(NamedTuple):
    """A step that may be the newest one in a bowl.

    Attributes:
        target_g: What it weighs when it is full.
        before_g: Food below it.
        before_u_g: Standard uncertainty of that.
        spread_g: Standard deviation of all food.
        densest: No density of that is higher.
    """

    target_g: float
    before_g: float
    before_u_g: float
    spread_g: float
    densest: float


@lru_cache
def _newest(known: Known, aims: tuple[Aim, ...]) -> tuple[_Newest, ...]:
    """Each step in turn."""
    newest, before_g = [], 0.0
    for aim in aims:
        target_g = aim.band.target_g
        before_u_g = math.hypot(FOOD_SPREAD * before_g, known.spread_g)
        spread_g = math.hypot(before_u_g, NEWEST_SPREAD * target_g + FINE_G)
        densest = normal(0.0, spread_g)
        newest.append(_Newest(target_g, before_g, before_u_g, spread_g, densest))
        before_g += target_g
    return tuple(newest)


def _unseen(step: int, plan: Plan) -> Share:
    target_g = plan.aims[step].band.target_g
    return Share((step,), target_g, target_g, clear=False)
