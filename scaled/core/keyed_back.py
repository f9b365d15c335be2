"""A build set back and set to zero by the key before it was seen at rest.

The display showed about its weight on the way, and then much less. Every number is a starting
point from simulated cooks.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING, Final

from scaled.core.belief import Mode
from scaled.core.food import Change, Move, Successor, fed
from scaled.core.gesture import normal

if TYPE_CHECKING:
    from scaled.core.belief import Belief
    from scaled.core.plan import Plan
    from scaled.core.rest import Rest

P_KEYED_BACK: Final = 0.002
"""A build is set back, and set to zero by the key before it was seen at rest."""
SEEN: Final = (0.6, 1.3)
"""What the display showed of its weight: a slow one less, with a pressing hand more."""
FELL: Final = 0.15
"""Share of its weight by which the display then fell: more than a bump swings back."""
P_BRIEFLY: Final = 0.05
"""It is off again at once, and was never seen at rest."""
EARLY: Final = 0.2
"""What the display had still to rise when the key was pressed is known to this share."""


def hides_return(belief: Belief, rest: Rest) -> bool:
    """Whether the build stood on the pan before this rest, by what the display showed.

    Args:
        belief: The build is off the pan.
        rest: What came next.
    """
    gross_g = belief.level_g - belief.zero_g
    least, most = (share * gross_g for share in SEEN)
    seen_g = rest.peak_g - max(rest.left_g, belief.zero_g)
    return least <= seen_g <= most and rest.peak_g - rest.level_g > FELL * gross_g


def keyed_back(belief: Belief, change: Change, plan: Plan) -> Iterator[Successor]:
    """The build is back under a display that the key set to zero, perhaps with food added since.

    A slow display has not shown all of the build when the key is pressed: the rest comes after.
    """
    y = change.rest.level_g
    hidden_g = max(belief.level_g - change.rest.peak_g, 0.0)
    u_g = math.hypot(EARLY * hidden_g, belief.level_u_g)
    back = belief._replace(mode=Mode.ON, clear=not belief.strange)
    bare = P_KEYED_BACK * normal(y - hidden_g, math.hypot(change.rest.u_g, u_g))
    if bare > change.least:
        yield bare, back.shown_at(y, change.rest.u_g), Move.RETURNED
    vague = back.shown_at(hidden_g, u_g)
    shown = Change.of(vague, change.rest, least=change.least / P_KEYED_BACK)
    for density, after, _ in fed(vague, shown, plan):
        yield P_KEYED_BACK * density, after, Move.RETURNED
