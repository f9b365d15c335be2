"""The rule to beat: at rest when the last second's readings lie within one division of a middle.

It is what the scale's own stable light does. The level is their mean. A rest holds until a
reading breaks the rule; as the second slides on, slow pouring can look like rest.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from dataclasses import replace
from math import fsum, inf

from tests.benchmarks.rests import Sample, Told


def rule_rests(samples: Sequence[Sample], division_g: float, k: int) -> list[Told]:
    """The rests by the rule.

    Args:
        samples: Readings, oldest first.
        division_g: Smallest displayed step, g.
        k: Readings that must agree: about one second's.
    """
    widest_g = 2 * division_g * (1 + 1e-9)
    last: deque[float] = deque(maxlen=k)
    told: list[Told] = []
    resting = False
    for t, weight_g in samples:
        last.append(weight_g)
        agree = len(last) == k and max(last) - min(last) <= widest_g
        if agree and not resting:
            level_g = fsum(last) / k
            told.append(Told(t, inf, level_g, level_g))
        elif resting and not agree:
            told[-1] = replace(told[-1], until_s=t)
        resting = agree
    return told
