"""The seeded corpus: simulated runs with exact truth, and the engine's word on each."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from scaled.catalogue import find_profile, load_profile
from scaled.core.events import Event
from scaled.core.reading import Reading, Unit
from scaled.core.session import Session
from simulators.habits import Habits
from simulators.scene import Plan, Run, simulate

PROFILES: Final = ("winter-barley-bowl", "orchard-oat-pot", "millstone-flatbread")
DIVISIONS: Final = ("0.1 g", "0.2 g", "0.5 g", "1 g", "2 g", "5 g")
RATES_HZ: Final = (5, 10, 20)
BUILDS_A_RUN: Final = 4


@dataclass(frozen=True)
class Case:
    """One run to make: everything that decides it."""

    profile: str
    division: str
    rate_hz: int
    seed: int
    habits: Habits
    builds: int = BUILDS_A_RUN


def cases(
    builds: int, divisions: tuple[str, ...], habits: Habits, seed: int, run: int = BUILDS_A_RUN
) -> Iterator[Case]:
    """Enough cases for so many builds, ``run`` by each cook, round profiles, divisions, rates."""
    for i in range(-(-builds // run)):
        yield Case(
            profile=PROFILES[i % len(PROFILES)],
            division=divisions[(i // len(PROFILES)) % len(divisions)],
            rate_hz=RATES_HZ[(i // (len(PROFILES) * len(divisions))) % len(RATES_HZ)],
            seed=seed + i,
            habits=habits,
            builds=run,
        )


def play(case: Case) -> tuple[Run, list[Reading]]:
    """Simulate a case; the run with its truth, and the readings as a driver delivers them."""
    text = find_profile(case.profile).text
    run = simulate(
        Plan(
            recipe_text=text,
            seed=case.seed,
            division=case.division,
            rate_hz=case.rate_hz,
            habits=case.habits,
            builds=case.builds,
        )
    )
    return run, [Reading(r.t, float(r.weight), Unit(r.unit), r.stable) for r in run.readings]


def listen(case: Case, run: Run, readings: list[Reading]) -> list[Event]:
    """What the engine says of a run."""
    session = Session(load_profile(case.profile), run.make.division.size_g)
    events = [event for reading in readings for event in session.read(reading)]
    return [*events, *session.close(readings[-1].t)]
