"""What the pause before a gesture says: within an ingredient, or before the next.

Every number is a starting point taken from simulated cooks, not from measured kitchens.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Final

from scaled.core.gesture import ASKED_AGAIN

PAUSE_SAME_S: Final = 1.5
"""Median pause between two gestures of one ingredient."""
PAUSE_NEXT_S: Final = 3.0
"""Median pause before the next ingredient: another tool, another pan."""
PAUSE_SPREAD: Final = 0.55
"""Standard deviation of a pause's logarithm, what the scale's lag hides included."""
UNSEEN_S: Final = 0.6
"""Part of a pause in which the scale is still settling."""
MOST_ODDS: Final = 1.8
"""A pause alone never weighs more than this, as the logarithm of the odds."""


@lru_cache(ASKED_AGAIN)
def same_pause_odds(pause_s: float) -> float:
    """How much likelier a pause of this length is within an ingredient than before the next.

    The pauses are log-normal; ``pause_s`` is what was seen at rest.
    """
    z = math.log(pause_s + UNSEEN_S)
    same = (z - math.log(PAUSE_SAME_S)) / PAUSE_SPREAD
    other = (z - math.log(PAUSE_NEXT_S)) / PAUSE_SPREAD
    return math.exp(max(-MOST_ODDS, min(MOST_ODDS, 0.5 * (other * other - same * same))))
