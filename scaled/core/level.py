"""What a stretch of readings says of the weight, and how well that is known."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

from scaled.core.budget import RESOLUTION_SHARE
from scaled.core.line import Line
from scaled.core.newest import Sample
from scaled.core.noise import Grain

LONGEST_S: Final = 1.2
"""Longer stretches add nothing to finding a rest's beginning,"""
LONGEST: Final = 2.0
"""... but to what a slow filter still holds back: so many times as long as it does at most."""
SLACK_S: Final = 0.005
"""Readings do not come on the dot."""
RANGE: Final = 2.0
"""Readings of one rest stay within this many divisions (rounding flips by one, noise by one)."""
NOISE_RANGE: Final = 6.0
"""... or within this many standard deviations, on a noisy pan."""
DITHERED: Final = 0.3
"""Scatter from which noise, not rounding alone, decides what is shown, in divisions."""
DITHERED_SHARE: Final = 0.20
"""Rounding's share in divisions when noise spreads readings over more than one step."""
APART_S: Final = 0.15
"""Readings nearer to each other than this share the filter's noise: they count as one."""


class Level(NamedTuple):
    """A weight read off a stretch of readings.

    Attributes:
        begin_s: Time of the first of them.
        level_g: Where the weight is, or is coming to rest.
        u_g: Standard uncertainty of that.
    """

    begin_s: float
    level_g: float
    u_g: float


def steadiest(
    samples: Sequence[Sample],
    least: tuple[float, int],
    grain: Grain,
    since_s: float = -math.inf,
) -> Level | None:
    """The best known level among the newest readings that stay close together.

    Args:
        samples: Readings, oldest first, at least one.
        least: Shortest stretch to look at, s, and fewest readings, two or more.
        grain: The scale's.
        since_s: Later readings only.

    Returns:
        None when they do not stay close together for so long.
    """
    least_s, least_n = least[0] - SLACK_S, least[1]
    newest_s, origin_g = samples[-1]
    widest_g = max(RANGE * grain.division_g, NOISE_RANGE * grain.noise_g)
    longest_s = max(LONGEST_S, LONGEST * grain.held_s[1])
    too_short = newest_s - since_s < least_s or len(samples) < least_n
    if too_short or abs(samples[-least_n][1] - origin_g) > widest_g:
        return None
    line = Line(newest_s, origin_g)
    waiting: list[Sample] = []
    low = high = origin_g
    best: Level | None = None
    for one in reversed(samples):
        t, weight_g = one
        if weight_g < low:
            low = weight_g
        elif weight_g > high:
            high = weight_g
        span_s = newest_s - t
        if high - low > widest_g or span_s > longest_s or t <= since_s:
            break
        waiting.append(one)
        if span_s >= least_s and line.n + len(waiting) >= least_n:
            line.add(waiting)
            waiting.clear()
            level_g, u_g = weighed(line, span_s, grain)
            if best is None or u_g < best.u_g:
                best = Level(t, level_g, u_g)
    return best


def weighed(line: Line, span_s: float, grain: Grain) -> tuple[float, float]:
    """Level and standard uncertainty from readings of a pan that may still move.

    What the filter holds back lies somewhere between the least and the most of it that the slope
    promises: the best estimate is the middle (JCGM 100:2008, 4.3.7). What is not known of the
    slope counts as well: rounding can hide a step over the whole span.

    Args:
        line: The readings, at least two.
        span_s: Time between the first and the last.
        grain: The scale's.
    """
    rounding_g, noise = _scatter(line.spread, line.n, span_s, grain)
    slope, (least_s, most_s) = line.slope, grain.held_s
    width_s, middle_s = most_s - least_s, (least_s + most_s) / 2
    slope_variance = 2 * (rounding_g / span_s) ** 2 + noise / line.stt
    left = slope * slope * width_s * width_s / 12
    left += slope_variance * (middle_s * middle_s + width_s * width_s / 12)
    u_g = math.sqrt(rounding_g * rounding_g + noise / line.n + left)
    return line.mean + middle_s * slope, u_g


def averaged(line: Line, span_s: float, grain: Grain) -> tuple[float, float]:
    """Level and standard uncertainty from readings of a pan that stood still before and after.

    Args:
        line: The readings, at least one.
        span_s: Time between the first and the last.
        grain: The scale's.
    """
    rounding_g, noise = _scatter(line.deviation, line.n, span_s, grain)
    return line.mean, math.sqrt(rounding_g * rounding_g + noise / line.n)


def _scatter(spread_g: float, n: int, span_s: float, grain: Grain) -> tuple[float, float]:
    """Standard uncertainty from rounding, g, and variance of a reading from noise, g².

    The mean of rounded readings is no better than one of them, unless noise spreads them over
    several steps; then it is the noise that counts.
    """
    if spread_g <= DITHERED * grain.division_g:
        return RESOLUTION_SHARE * grain.division_g, 0.0
    alike = max(1.0, n / (1 + span_s / APART_S))
    return DITHERED_SHARE * grain.division_g, alike * max(grain.noise_g, spread_g) ** 2
