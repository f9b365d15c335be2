"""The wall: an oracle that knows when all movement had ended and how noisy the scale is.

It knows when the load came to rest, and from its path and the indicator's filter how far the
display still was from the new level at each reading. It averages the newest readings, as many as
serve best, tells the rest when their mean is known as well as the engine asks of itself, and
books the best mean of the whole rest.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import replace

from scaled.core.budget import RESOLUTION_SHARE
from scaled.core.movement import SETTLED, SETTLED_G
from simulators.chance import stream
from simulators.display import Division
from simulators.pan import Pan
from simulators.pan_make import PanMake
from simulators.scene import Run
from tests.benchmarks.rests import Sample, Told, TrueRest


def oracle_rests(run: Run, samples: Sequence[Sample], rests: Sequence[TrueRest]) -> list[Told]:
    """The rests as the oracle tells them.

    Args:
        run: What really happened.
        samples: Readings, oldest first.
        rests: The rests it is asked for.
    """
    quiet = {round(t, 3): weight_g for t, weight_g in quiet_samples(run)}
    noise_g = display_noise_g(run.make)
    times = [t for t, _ in samples]
    told = []
    for rest in rests:
        part = samples[bisect_right(times, rest.start_s) : bisect_right(times, rest.end_s)]
        lags_g = [quiet[round(t, 3)] - rest.load_g for t, _ in part]
        target_g = max(SETTLED * rest.division_g, SETTLED_G)
        for newest, (t, _) in enumerate(part):
            oldest, u_g = best_mean(lags_g[: newest + 1], noise_g, rest.division_g)
            if u_g <= target_g:
                level_g = _mean(part[oldest : newest + 1])
                oldest, _ = best_mean(lags_g, noise_g, rest.division_g)
                told.append(Told(t, rest.end_s, level_g, _mean(part[oldest:])))
                break
    return told


def best_mean(lags_g: Sequence[float], noise_g: float, division_g: float) -> tuple[int, float]:
    """From which reading on the mean is known best, and its standard uncertainty, g.

    Noise averages out, rounding does not, and the lag that is left is counted in full.

    Args:
        lags_g: How far the display still was from the level at each reading, oldest first.
        noise_g: Standard deviation of a reading before rounding.
        division_g: Smallest displayed step.
    """
    best, least_g, total_g = 0, math.inf, 0.0
    for n, lag_g in enumerate(reversed(lags_g), start=1):
        total_g += lag_g
        u_g = math.hypot(noise_g / math.sqrt(n), RESOLUTION_SHARE * division_g, total_g / n)
        if u_g < least_g:
            best, least_g = len(lags_g) - n, u_g
    return best, least_g


def quiet_samples(run: Run) -> list[Sample]:
    """What this scale would have shown without noise, drift, keys and rounding."""
    make = replace(
        run.make,
        division=Division.parse("0.001 g"),
        noise_g=0.0,
        vibration_g=0.0,
        draught_g=0.0,
        drift_g=0.0,
    )
    shown = Pan(make, stream(0)).update(run.zeros_g[-1][0], run.plan.cook().load_g)
    return [(one.t, float(one.weight)) for one in shown]


def display_noise_g(make: PanMake) -> float:
    """Standard deviation of readings at rest before rounding, g: noise, shaking, draught."""
    shaking_g = make.vibration_g * make.vibration_gain / math.sqrt(2)
    return math.hypot(make.noise_g, shaking_g, make.draught_g)


def _mean(part: Sequence[Sample]) -> float:
    return math.fsum(weight_g for _, weight_g in part) / len(part)
