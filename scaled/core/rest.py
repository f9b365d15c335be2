"""A rest of the pan, and what a reading did to it."""

from __future__ import annotations

import math
from enum import Enum
from typing import TYPE_CHECKING, Final, NamedTuple

if TYPE_CHECKING:
    from scaled.core.jump import Jump

MEMORY_S: Final = 4.0
"""Readings older than this are forgotten."""
GAP_S: Final = 1.0
"""Readings further apart than this leave a time unseen, in which a hand can have done something:
slower scales than that cannot be followed anyway."""

ABRUPT_LOAD: Final = 0.02
"""Share of moved loads that look abrupt on a scale of which nothing is known, where it sends five
readings a second."""


class Phase(Enum):
    """What a reading did to the rest."""

    BEGAN = "began"
    PASSED = "passed"
    """A shoulder was left behind: a rest too short to settle, its level roughly known."""
    REFINED = "refined"
    ENDED = "ended"


class Rest(NamedTuple):
    """A stretch in which the pan was at rest.

    Attributes:
        begin_s: Time of its first reading.
        at_s: Time of the reading that told.
        level_g: Weight on the pan.
        u_g: Standard uncertainty of ``level_g``.
        pause_s: How long the rest before it lasted.
        left_g: Level of that rest.
        peak_g: Heaviest weight shown between that rest and this one.
        trough_g: Lightest weight shown between them.
        settled: It lasted long enough to be sure; a shoulder did not.
        abrupt: Its first reading came right after the last rest's: no movement between was
            seen, as when a key makes the display jump. None: one may have been missed, because
            nothing was shown for too long or the way was too short to show it.
        unseen_s: For how long no readings came between the rest before it and this one.
        again_s: How long after they came again it began; 0 when none were missing.
        load_abrupt: Probability that a moved load looks so on this scale.
        doubt: Odds that a shoulder is no rest.
        jump: The display jumped to zero between that rest and this one.
        slow: It took longer to come than a drop does on this scale; None: not known.
    """

    begin_s: float
    at_s: float
    level_g: float
    u_g: float
    pause_s: float = 0.0
    left_g: float = -math.inf
    peak_g: float = -math.inf
    trough_g: float = math.inf
    settled: bool = True
    abrupt: bool | None = False
    unseen_s: float = 0.0
    again_s: float = 0.0
    load_abrupt: float = ABRUPT_LOAD
    doubt: float = 0.0
    jump: Jump | None = None
    slow: bool | None = None
