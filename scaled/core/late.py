"""What is missing in a step that was left too small is made up for after others were begun.

Every number is a starting point from simulated cooks.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from scaled.core import gesture
from scaled.core.food import Change, Move, Successor

if TYPE_CHECKING:
    from scaled.core.belief import Belief
    from scaled.core.plan import Plan
    from scaled.core.rest import Rest
    from scaled.core.share import Share

P_LATE: Final = 0.005
"""Who is between two steps makes up for an earlier one; at 0.02 more true shortage goes untold."""


def late(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    """What came went into a closed step that was short; the open one is as it was.

    A final word said of that step meanwhile stays said.
    """
    if change.by_g <= 0 or change.least >= P_LATE * gesture.DENSEST:
        return
    for place, share in enumerate(belief.closed):
        aim = plan.aims[share.group[0]]
        if share.net_g >= aim.band.low_g or len(share.group) > 1:
            continue
        chance = P_LATE * _between(belief, plan)
        u_g = math.hypot(share.u_g, change.u_g)
        density = chance * gesture.added(aim, share.net_g, aim.scoops, change.by_g, u_g)
        if density > change.least:
            whole = share._replace(net_g=share.net_g + change.by_g, u_g=u_g)
            yield density, _made_up(belief, place, whole, change.rest), Move.ADDED


def _between(belief: Belief, plan: Plan) -> float:
    """Probability that nothing more is wanted in the open step before anything else."""
    if not belief.gestures:
        return 1.0
    return gesture.intent(plan.aim(belief.group), belief.net_g, belief.gestures).done


def _made_up(belief: Belief, place: int, share: Share, rest: Rest) -> Belief:
    """A closed step is done anew and holds more; the open one holds what it did."""
    others = belief.closed[:place] + belief.closed[place + 1 :]
    start_g, start_u_g = rest.level_g, rest.u_g
    if belief.gestures:
        start_g -= belief.net_g
        start_u_g = math.hypot(belief.start_u_g, belief.level_u_g)
    return belief._replace(
        level_g=rest.level_g,
        level_u_g=rest.u_g,
        start_g=start_g,
        start_u_g=start_u_g,
        closed=(*others, share),
    )
