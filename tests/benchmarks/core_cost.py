"""What the core costs a reading: reading, settling and deciding, nothing simulated or loaded."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from scaled.catalogue import load_profile
from scaled.core.intake import Intake
from scaled.core.profile import BuildProfile
from scaled.core.reading import Reading
from scaled.core.session import Session
from scaled.core.settle import Settler
from simulators.habits import PRESETS
from tests.benchmarks.corpus import Case, cases, play
from tests.benchmarks.rests import samples_of
from tests.benchmarks.rule import rule_rests

BUILDS: Final = 108
DIVISIONS: Final = ("0.5 g", "1 g", "2 g")
SEED: Final = 9000
FAST_HZ: Final = (10, 20)
"""What most scales send; a slow one's readings cost more each, and less a second."""
TIMES: Final = 5


@dataclass(frozen=True)
class Stream:
    """A simulated run as the core gets it."""

    profile: BuildProfile
    division_g: float
    rate_hz: int
    readings: list[Reading]


def stream(case: Case) -> Stream:
    """Simulate a case."""
    run, readings = play(case)
    division_g = run.make.division.size_g
    return Stream(load_profile(case.profile), division_g, case.rate_hz, readings)


def core_costs() -> list[str]:
    """One line for each kind of cook."""
    lines = []
    for habits, preset in PRESETS.items():
        todo = [c for c in cases(BUILDS, DIVISIONS, preset, SEED) if c.rate_hz in FAST_HZ]
        streams = [stream(case) for case in todo]
        readings = sum(len(s.readings) for s in streams)
        whole, settling, rule = (
            least_s(work, streams) / readings for work in (read_s, settle_s, rule_s)
        )
        lines.append(
            f"core, {habits} cooks: {whole * 1e6:.1f} us a reading over {readings:,} at 10 and 20"
            f" a second, {settling * 1e6:.1f} of it settling; the simple rule {rule * 1e6:.2f} us,"
            f" ratio {whole / rule:.0f}"
        )
    return lines


def least_s(work: Callable[[Sequence[Stream]], float], streams: Sequence[Stream]) -> float:
    """Least of several times, lest other programs count."""
    return min(work(streams) for _ in range(TIMES))


def read_s(streams: Sequence[Stream]) -> float:
    """Processor time, s, in which sessions read the streams; made beforehand."""
    todo = [(Session(s.profile, s.division_g), s.readings) for s in streams]
    start = time.process_time()
    for session, readings in todo:
        for reading in readings:
            session.read(reading)
    return time.process_time() - start


def settle_s(streams: Sequence[Stream]) -> float:
    """The same of intake and settling alone."""
    todo = [(Intake(), Settler(s.division_g), s.readings) for s in streams]
    start = time.process_time()
    for intake, settler, readings in todo:
        for reading in readings:
            weight_g = intake.read(reading)
            if weight_g is not None:
                settler.read(reading.t, weight_g, reading.stable)
    return time.process_time() - start


def rule_s(streams: Sequence[Stream]) -> float:
    """The same of the rule to beat, which tracks nothing."""
    todo = [(samples_of(s.readings), s) for s in streams]
    start = time.process_time()
    for samples, s in todo:
        deque(rule_rests(samples, s.division_g, s.rate_hz), maxlen=0)
    return time.process_time() - start
