"""Runs made by hand, so that a benchmark's parts can be held against known answers."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from scaled.core.reading import Reading, Unit
from simulators.display import Division
from simulators.pan_make import PanMake
from simulators.scene import Plan, Run
from simulators.truth import BuildTruth, Disturbance, PortionTruth, Rest

Level = tuple[float, float, float]
"""From when to when the load stood still, s, and its weight, g."""


def made_run(
    levels: Sequence[Level],
    *,
    division: str = "1 g",
    zeros_g: Sequence[tuple[float, float]] = ((0.0, 0.0), (60.0, 0.0)),
    disturbances: Sequence[Disturbance] = (),
    faults: Sequence[Disturbance] = (),
    portions: Sequence[PortionTruth] = (),
    placed_s: float = 0.0,
) -> Run:
    """A run of one build, from what was true."""
    build = BuildTruth(
        number=1,
        tare_g=20.0,
        placed_s=placed_s,
        lifted_s=levels[-1][0],
        portions=tuple(portions),
        disturbances=tuple(disturbances),
        rests=tuple(Rest(start_s, end_s, load_g, None) for start_s, end_s, load_g in levels),
    )
    return Run(
        plan=Plan(recipe_text=""),
        make=PanMake(division=Division.parse(division)),
        readings=(),
        builds=(build,),
        faults=tuple(faults),
        zeros_g=tuple(zeros_g),
    )


def made_readings(shown: Sequence[tuple[float, float]], rate_hz: int = 10) -> list[Reading]:
    """Readings at a steady rate: each weight shown from its time until the next one's."""
    readings = []
    for (since_s, weight_g), (until_s, _) in pairwise(shown):
        first, end = round(since_s * rate_hz), round(until_s * rate_hz)
        readings += [Reading(n / rate_hz, weight_g, Unit.G) for n in range(first, end)]
    return readings
