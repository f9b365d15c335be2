"""A long day: many builds on one scale through one session, hour by hour.

    python -m tests.benchmarks.day [--hours 10] [--rate 20] [--runs 24]

Recorded runs of clean and messy cooks are played again and again, with idle minutes between, as
fast as can be: 720,000 readings at 20 a second in ten hours. What a reading costs and what the
session holds in the last hour stands beside the first.
"""

from __future__ import annotations

import argparse
import gc
import os
import pickle
import time
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import cycle
from pathlib import Path
from random import Random
from typing import Final

from scaled.catalogue import load_profile
from scaled.core.reading import Reading
from scaled.core.session import Session
from simulators.habits import CLEAN, MESSY
from tests.benchmarks.corpus import BUILDS_A_RUN, PROFILES, Case, play

DIVISION: Final = "1 g"
SEED: Final = 8000
IDLE_S: Final = 60.0
"""Between two runs the pan is empty, and flickers now and then."""
FLICKER: Final = 0.05
"""Share of idle readings that show one division instead of none."""
HOUR_S: Final = 3600.0


@dataclass(frozen=True)
class Hour:
    """One hour of the day.

    Attributes:
        readings: How many were read.
        cost_us: Processor time a reading.
        state_bytes: All that the session knows at the end of it, pickled.
        resident_mib: Memory of the whole process.
        build: Number of the last build.
    """

    readings: int
    cost_us: float
    state_bytes: int
    resident_mib: float
    build: int


def day(hours: int, pool: list[list[Reading]], hour_s: float = HOUR_S) -> Iterator[Hour]:
    """Play a day and tell of every hour.

    Args:
        hours: How many.
        pool: Runs of one profile on one scale, each from 0 s on.
        hour_s: How long an hour is, s.
    """
    session = Session(load_profile(PROFILES[0]), 1.0)
    chunks = shifted(pool)
    end_s = 0.0
    for _ in range(hours):
        end_s += hour_s
        readings, spent_s, last_s = 0, 0.0, 0.0
        while last_s < end_s:
            chunk = next(chunks)
            start = time.process_time()
            for reading in chunk:
                session.read(reading)
            spent_s += time.process_time() - start
            readings, last_s = readings + len(chunk), chunk[-1].t
        gc.collect()
        yield Hour(
            readings=readings,
            cost_us=1e6 * spent_s / readings,
            state_bytes=len(pickle.dumps(session)),
            resident_mib=_resident_mib(),
            build=session.build,
        )


def shifted(pool: Iterable[list[Reading]]) -> Iterator[list[Reading]]:
    """The runs one after another without end, idle time after each."""
    since_s = 0.0
    for run in cycle(pool):
        readings = [replace(reading, t=reading.t + since_s) for reading in run]
        yield readings
        since_s = readings[-1].t


def recorded(runs: int, rate_hz: int) -> list[list[Reading]]:
    """Simulated runs with idle time, by clean and messy cooks in turn."""
    pool = []
    for i in range(runs):
        case = Case(PROFILES[0], DIVISION, rate_hz, SEED + i, (CLEAN, MESSY)[i % 2])
        _, readings = play(case)
        pool.append([*readings, *_idle(readings[-1], rate_hz, Random(i))])  # noqa: S311 -- flicker
    return pool


def _idle(last: Reading, rate_hz: int, random: Random) -> Iterator[Reading]:
    for count in range(1, round(IDLE_S * rate_hz) + 1):
        weight = last.weight + (random.random() < FLICKER)
        yield replace(last, t=last.t + count / rate_hz, weight=weight)


def _resident_mib() -> float:
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--hours", type=int, default=10)
    parser.add_argument("--rate", type=int, default=20, choices=(5, 10, 20))
    parser.add_argument("--runs", type=int, default=24)
    args = parser.parse_args()
    pool = recorded(args.runs, args.rate)
    print(
        f"{args.runs} runs of {BUILDS_A_RUN} builds, seeds {SEED}+, {IDLE_S:.0f} s idle after each"
    )
    hours = []
    for number, hour in enumerate(day(args.hours, pool), start=1):
        hours.append(hour)
        print(
            f"hour {number:2d}: {hour.readings:,} readings, {hour.cost_us:.1f} us each; state"
            f" {hour.state_bytes / 1024:.1f} KiB, process {hour.resident_mib:.1f} MiB;"
            f" build {hour.build}"
        )
    first, last = hours[0], hours[-1]
    print(
        f"{sum(hour.readings for hour in hours):,} readings; last hour to first: cost"
        f" {last.cost_us / first.cost_us:.2f}, state {last.state_bytes / first.state_bytes:.2f},"
        f" process {last.resident_mib - first.resident_mib:+.1f} MiB"
    )


if __name__ == "__main__":
    main()
