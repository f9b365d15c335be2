"""What it is worth that a session knows its cook from earlier ones.

    python -m tests.benchmarks.acquaintance [--cooks 60] [--habits untrained] [--kept 1]

Each cook works in several sessions, each at another scale. Every one but the first is heard by an
engine that knows nobody, by one that got the habit from the session before, and by one that got
another cook's, as if somebody had signed in with the wrong badge. ``--kept`` is the share of an
eye's error that is still there in the next session: cooks learn too.

Seeds below 50000 were used for tuning.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from typing import Final

from scaled.catalogue import find_profile, load_profile
from scaled.core.habit import Deviations
from scaled.core.reading import Reading, Unit
from scaled.core.session import Session
from simulators.chance import stream
from simulators.cook import Cook
from simulators.habits import Habits
from simulators.hands import CookHands
from simulators.recipe import read_recipe
from simulators.scene import Plan, Run, simulate
from tests.benchmarks.attribution import COOKS, HEAD, row
from tests.benchmarks.corpus import PROFILES
from tests.benchmarks.score import StepScore, score_steps

DIVISIONS: Final = ("0.5 g", "1 g", "2 g")
SESSIONS: Final = 3
BUILDS: Final = 4
KNOWING: Final = ("nobody", "this cook", "the wrong cook")

Counts = dict[tuple[str, int], Counter[str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Shift(Plan):
    """A run by a cook whose eye was drawn once, for all his runs.

    Attributes:
        eye_seed: Tells him from other cooks.
        eye: Share of its error that is still there.
    """

    eye_seed: int
    eye: float

    def cook(self) -> CookHands:
        """The cook of this run."""
        recipe = read_recipe(self.recipe_text)
        cook = Cook(recipe, self.habits, stream(self.seed, "cook"))
        drawn = stream(self.eye_seed, "eye")
        cook.bias = {s.id: self.eye * drawn.gauss(0.0, self.habits.bias) for s in recipe.steps}
        return CookHands(cook, self.builds)


@dataclass(frozen=True)
class Regular:
    """One cook, his dish and all his runs."""

    profile: str
    runs: tuple[Run, ...]

    @classmethod
    def at_work(cls, number: int, habits: Habits, kept: float, seed: int) -> Regular:
        profile = PROFILES[number % len(PROFILES)]
        runs = (
            simulate(
                Shift(
                    recipe_text=find_profile(profile).text,
                    seed=seed + SESSIONS * number + session,
                    division=DIVISIONS[(number // len(PROFILES) + session) % len(DIVISIONS)],
                    habits=habits,
                    builds=BUILDS,
                    eye_seed=seed + number,
                    eye=kept**session,
                )
            )
            for session in range(SESSIONS)
        )
        return cls(profile, tuple(runs))

    def told(self, session: int, habit: Deviations) -> tuple[list[StepScore], Deviations]:
        """How a session's steps were told, and the habit it leaves behind."""
        profile, run = load_profile(self.profile), self.runs[session]
        engine = Session(profile, run.make.division.size_g, habit=habit)
        heard = [Reading(r.t, float(r.weight), Unit(r.unit), r.stable) for r in run.readings]
        events = [event for reading in heard for event in engine.read(reading)]
        return score_steps(run, [*events, *engine.close(heard[-1].t)], profile), engine.habit

    def known(self) -> Iterator[tuple[list[StepScore], Deviations]]:
        """The same of all sessions, each of which hands on to the next."""
        habit: Deviations = {}
        for session in range(SESSIONS):
            scores, habit = self.told(session, habit)
            yield scores, habit


def measure(asked: tuple[int, Habits, float, int]) -> Counts:
    """Outcomes of two cooks' later sessions, by what was known and build of the session."""
    number, habits, kept, seed = asked
    numbers = (number, number + len(PROFILES))
    pair = [Regular.at_work(one, habits, kept, seed) for one in numbers]
    known = [list(cook.known()) for cook in pair]
    counts: Counts = {}
    for cook, own, other in zip(pair, known, reversed(known), strict=True):
        wrong = other[-1][1]
        for session in range(1, SESSIONS):
            told = (cook.told(session, {}), own[session], cook.told(session, wrong))
            for knowing, (scores, _) in zip(KNOWING, told, strict=True):
                for score in scores:
                    counts.setdefault((knowing, score.build), Counter())[score.outcome] += 1
    return counts


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cooks", type=int, default=60, help="a multiple of six")
    parser.add_argument("--habits", choices=sorted(COOKS), default="untrained")
    parser.add_argument("--kept", type=float, default=1.0)
    parser.add_argument("--seed", type=int, default=50000)
    parser.add_argument("--jobs", type=int, default=None)
    args = parser.parse_args()
    half = len(PROFILES)
    firsts = [n for n in range(args.cooks) if n % (2 * half) < half]
    counts: Counts = {}
    with ProcessPoolExecutor(args.jobs) as pool:
        asked = [(first, COOKS[args.habits], args.kept, args.seed) for first in firsts]
        for found in pool.map(measure, asked):
            for key, outcomes in found.items():
                counts.setdefault(key, Counter()).update(outcomes)
    print(
        f"{args.cooks} {args.habits} cooks, {SESSIONS} sessions of {BUILDS} builds each;", end=" "
    )
    print(f"{args.kept:g} of an eye's error kept; seeds {args.seed}+")
    print(HEAD)
    for build in range(1, BUILDS + 1):
        for knowing in KNOWING:
            print(row(f"build {build}, knowing {knowing}", counts[knowing, build]))
    for knowing in KNOWING:
        parts = (outcomes for (which, _), outcomes in counts.items() if which == knowing)
        print(row(f"all, knowing {knowing}", sum(parts, Counter())))


if __name__ == "__main__":
    main()
