"""The display jumps to zero: a key was pressed, whatever the load does meanwhile.

A load that comes or goes shows on its way, because the indicator's filter takes time; what is set
to zero by the key is at zero in the next reading.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import Final, NamedTuple

from scaled.core.newest import Sample

AT_ZERO: Final = 1.5
"""What was set to zero is shown within so many divisions of it, and as far as it moved on."""
MOVED_ON: Final = 0.3
"""... but no more than this share of what was shown before it: else a load bounced."""
LEAST: Final = 8.0
"""Smaller jumps, in divisions, are made by any load: a reading or two is all they take."""
NEARING: Final = 0.3
"""Share of a jump by which the weight may have neared zero in the reading before."""
SUDDEN: Final = 0.02
"""Share of loads passing zero that speed up like that just before it;"""
SWINGS_S: Final = 0.5
"""... where the display made a step as large as half of it so shortly before, all may."""
SHOWN: Final = 0.5
"""Share of a jump that was shown in the reading before as well: else that one was garbled, or a
bump."""
AS_FAR: Final = 0.5
"""Share of a jump by which a load goes on past zero: it has only just begun to show."""
AT_ONCE: Final = 1.7
"""Readings further apart than this, in times between the two before, may have one missing,"""
AT_ONCE_S: Final = 0.12
"""... which does not matter where they are no further apart than this: no load goes so fast."""


class Jump(NamedTuple):
    """From which weight the display jumped to zero.

    Attributes:
        at_s: When it showed zero first.
        from_g: What it showed last.
        u_g: Standard uncertainty of what it showed when the key was pressed.
        chance: Probability that a load which passes zero shows it like that.
    """

    at_s: float
    from_g: float
    u_g: float
    chance: float = 0.0


def to_zero(window: Sequence[Sample], division_g: float) -> Jump | None:
    """Whether the newest reading, last in ``window``, is at zero by a jump.

    Args:
        window: Readings, oldest first.
        division_g: Smallest displayed step, g.
    """
    if len(window) < 3:
        return None
    (from_s, from_g), (now_s, now_g) = window[-2], window[-1]
    far_g, near_g = abs(from_g - now_g), AT_ZERO * division_g
    if abs(now_g) > MOVED_ON * abs(from_g) + near_g or far_g < LEAST * division_g:
        return None
    before_s, before_g = window[-3]
    if now_s - from_s > max(AT_ONCE * (from_s - before_s), AT_ONCE_S):
        return None
    on_g = from_g - before_g
    if not min(on_g, 0.0) - near_g <= now_g <= max(on_g, 0.0) + near_g:
        return None
    side = math.copysign(1.0, from_g)
    if -side * on_g > NEARING * far_g or side * before_g < SHOWN * abs(from_g):
        return None
    chance = (abs(on_g) + 2 * near_g) / far_g
    if not _swings(window, far_g):
        chance *= SUDDEN
    # Until the key was pressed it went on, somewhere between not at all and as far as before.
    return Jump(now_s, from_g + on_g / 2, math.hypot(on_g, division_g) / 2, min(chance, 1.0))


def _swings(window: Sequence[Sample], far_g: float) -> bool:
    """Whether the display just made other steps as large as half of this one."""
    last_s = window[-2][0]
    late = [weight_g for at, weight_g in window if last_s - SWINGS_S <= at <= last_s]
    return any(abs(after - before) > far_g / 2 for before, after in pairwise(late))


def passes_zero(jump: Jump, weight_g: float, division_g: float) -> bool:
    """Whether the reading after a jump goes on past zero the same way: then a load came or went.

    Args:
        jump: What looked like one.
        weight_g: What the next reading shows, g.
        division_g: Smallest displayed step, g.
    """
    beyond_g = -math.copysign(weight_g, jump.from_g * weight_g)
    return beyond_g > max(AT_ZERO * division_g + 2 * jump.u_g, AS_FAR * abs(jump.from_g))
