"""A build that is on its way here: another scale's words in this plan's terms."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Self

from scaled.core.belief import Belief, Mode
from scaled.core.errors import CommandRefused
from scaled.core.share import Share

if TYPE_CHECKING:
    from scaled.core.plan import Plan
    from scaled.core.transit import Course, Transit

AWAITED_S: Final = 900.0
"""Nobody carries a build for longer: after this it is not waited for any more."""
MOST: Final = 20
"""Builds waited for at a time: a line of kitchen stations holds fewer."""


@dataclass(frozen=True, slots=True, eq=False)
class Coming:
    """A build that may be set down here.

    One is never equal to another, whatever is in it: two bowls are two bowls.

    Attributes:
        transit: What the other scale said of it.
        courses: Ways it may have gone, as builds off an empty pan that shows 0 g, with their
            probabilities, which sum to one.
        told_s: When this scale was told of it, on its own clock.
    """

    transit: Transit
    courses: tuple[tuple[float, Belief], ...]
    told_s: float

    @classmethod
    def of(cls, transit: Transit, plan: Plan, t: float) -> Self:
        """The build as this plan understands it.

        Raises:
            CommandRefused: It is not of this dish.
        """
        total = math.fsum(course.chance for course in transit.courses)
        courses = tuple((c.chance / total, _belief(c, plan)) for c in transit.courses)
        return cls(transit, courses, t)

    @property
    def id(self) -> str:
        """Tells it from every other build."""
        return self.transit.id

    @property
    def started_s(self) -> float:
        """When its container was set down, on this scale's clock; the way here is left out."""
        return self.told_s - self.transit.elapsed_s


def _belief(course: Course, plan: Plan) -> Belief:
    closed = tuple(
        Share(_places(one.steps, plan), one.net_g, one.u_g, one.clear) for one in course.closed
    )
    group = _places(course.open, plan)
    begun = [step for share in closed for step in share.group] + [*group]
    if len(begun) > len(set(begun)):
        raise CommandRefused("expect", "a step is named twice in that build")
    return Belief(
        mode=Mode.OFF,
        zero_g=0.0,
        level_g=course.gross_g,
        level_u_g=course.gross_u_g,
        base_g=course.container_g,
        base_u_g=course.container_u_g,
        weighed=course.weighed,
        group=group,
        ahead=tuple(step for step in range(len(plan.steps)) if step not in begun),
        start_g=course.open_from_g,
        start_u_g=course.open_from_u_g,
        gestures=course.gestures,
        clear=course.clear,
        strange=course.strange,
        carried=True,
        closed=closed,
    )


def _places(names: tuple[str, ...], plan: Plan) -> tuple[int, ...]:
    """Places of steps in the plan."""
    unknown = [name for name in names if name not in plan.steps]
    if unknown:
        raise CommandRefused("expect", f'the dish built here has no step "{unknown[0]}"')
    return tuple(plan.steps.index(name) for name in names)
