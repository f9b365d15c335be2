"""Does the screen lead a cook well: a cook who obeys it, beside the same cook without a screen.

    python -m tests.benchmarks.obedience [--builds 200] [--cooks trained,...] [--seed 60000]

Builds go round three profiles, divisions and 5, 10 and 20 readings a second. What a step truly
got is the simulation's; a step whose limits are less than four divisions apart cannot be judged
on its scale and is counted apart. A dead end is a build that the cook gave up: the screen left
him standing for half a minute, took its word back again and again, or led in circles. Tuning used
seeds below 60000.
"""

from __future__ import annotations

import argparse
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from statistics import fmean
from types import MappingProxyType
from typing import Final

from scaled.catalogue import load_profile
from scaled.core.check_scale import REFUSED
from scaled.core.check_weights import ROUNDING_G
from simulators.following import GuidedBuild
from simulators.habits import CLEAN, MESSY, UNTRAINED
from simulators.recipe import RecipeStep
from simulators.truth import BuildTruth
from tests.benchmarks.closed_loop import Guided, obey
from tests.benchmarks.corpus import Case, cases
from tests.benchmarks.score import WRONG, score_steps

COOKS: Final = MappingProxyType({"trained": CLEAN, "untrained": UNTRAINED, "hurried": MESSY})
DIVISIONS: Final = "0.1 g,0.2 g,0.5 g,1 g,2 g,5 g"
SEED: Final = 60000
ALL: Final = "all"
NARROW: Final = "too narrow for the scale"


@dataclass
class Steps:
    """Steps that truly ended inside their limits.

    Attributes:
        guided: True for inside, of the cook who obeys; a build given up has none inside.
        alone: The same of the cook without a screen.
    """

    guided: Counter[bool] = field(default_factory=Counter)
    alone: Counter[bool] = field(default_factory=Counter)


@dataclass(frozen=True)
class Tally:
    """All that was seen of one kind of cook."""

    steps: dict[str, Steps]
    builds: tuple[GuidedBuild, ...]
    alone: tuple[BuildTruth, ...]
    said: Counter[str]
    """What the station said of the steps in the end, by outcome."""

    @property
    def led(self) -> list[GuidedBuild]:
        """Builds that the screen led to their end."""
        return [build for build in self.builds if not build.gave_up]


def tally(results: Iterable[tuple[Case, Guided]]) -> Tally:
    """Add the runs up."""
    steps: dict[str, Steps] = defaultdict(Steps)
    builds: list[GuidedBuild] = []
    alone: list[BuildTruth] = []
    said: Counter[str] = Counter()
    for case, guided in results:
        builds += guided.builds
        alone += guided.alone
        scores = score_steps(guided.run, list(guided.events), load_profile(case.profile))
        said.update("wrong" if score.outcome in WRONG else score.outcome for score in scores)
        for step in guided.steps:
            for cell in cells_of(case, step, guided.run.make.division.size_g):
                for build in guided.builds:
                    inside = not build.gave_up and is_inside(step, build.truth)
                    steps[cell].guided[inside] += 1
                steps[cell].alone.update(is_inside(step, truth) for truth in guided.alone)
    return Tally(dict(steps), tuple(builds), tuple(alone), said)


def cells_of(case: Case, step: RecipeStep, division_g: float) -> tuple[str, ...]:
    """Where a step counts."""
    if step.under_g + step.over_g + ROUNDING_G < REFUSED * division_g:
        return (NARROW,)
    return ALL, f"d = {case.division}", f"{case.rate_hz} readings/s", case.profile


def is_inside(step: RecipeStep, truth: BuildTruth) -> bool:
    """Whether a build truly got what the recipe allows of a step."""
    net_g = next(portion.net_g for portion in truth.portions if portion.step == step.id)
    return -step.under_g <= net_g - step.target_g <= step.over_g


def report(tally: Tally) -> Iterator[str]:
    """What the tally says, line by line."""
    yield f"{'':26s}{'steps':>8s}{'inside, %':>12s}{'alone, %':>12s}"
    for cell in sorted(tally.steps, key=lambda cell: (cell != ALL, cell == NARROW, cell)):
        steps = tally.steps[cell]
        count = steps.guided.total()
        shares = f"{_percent(steps.guided):12.1f}{_percent(steps.alone):12.1f}"
        yield f"{cell:26s}{count:8d}{shares}"
    why = Counter(build.gave_up for build in tally.builds if build.gave_up)
    reasons = "".join(f"; {count} x {reason}" for reason, count in why.most_common())
    yield f"dead ends: {why.total()} of {len(tally.builds)} builds{reasons}"
    yield from _pace(tally)
    total = tally.said.total()
    words = ", ".join(f"{kind} {100 * n / total:.1f}" for kind, n in tally.said.most_common())
    yield f"said of the steps in the end, %: {words}"


def _pace(tally: Tally) -> Iterator[str]:
    """Time and work a build."""
    led, kept = tally.led, [truth for truth in tally.alone if not truth.abandoned]
    if not led or not kept:
        return
    took_s = fmean(build.truth.lifted_s - build.truth.placed_s for build in led)
    alone_s = fmean(truth.lifted_s - truth.placed_s for truth in kept)
    lost_s = took_s - alone_s
    yield (
        f"time a build: {took_s:.1f} s, alone {alone_s:.1f} s; lost {lost_s:.1f} s"
        f" ({100 * lost_s / alone_s:.0f} %), of which reading the screen"
        f" {fmean(build.reading_s for build in led):.1f} s and waiting for it"
        f" {fmean(build.waiting_s for build in led):.1f} s"
    )
    yield (
        f"a build: {fmean(build.gestures for build in led):.1f} gestures, of which corrections"
        f" {fmean(build.corrections for build in led):.2f};"
        f" words taken back {fmean(build.contradictions for build in led):.2f},"
        f" keys asked for {fmean(build.taps for build in led):.2f}"
    )


def _percent(counts: Counter[bool]) -> float:
    return 100 * counts[True] / max(1, counts.total())


def failures(case: Case, guided: Guided) -> Iterator[str]:
    """Each dead end and each step that went wrong, to look at."""
    where = f"{case.profile} {case.division} {case.rate_hz}/s, seed {case.seed}, build"
    for build in guided.builds:
        truth = build.truth
        if build.gave_up:
            yield f"{where} {truth.number}: dead end, {build.gave_up}, {truth.lifted_s:.0f} s"
            continue
        for step, portion in zip(guided.steps, truth.portions, strict=True):
            cells = cells_of(case, step, guided.run.make.division.size_g)
            if NARROW not in cells and not is_inside(step, truth):
                off_g = portion.net_g - step.target_g
                yield f"{where} {truth.number}: {step.id} {off_g:+.1f} g, {portion.end_s} s"


def main() -> None:
    """Print a table for each kind of cook."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--builds", type=int, default=200, help="of each kind of cook")
    parser.add_argument("--cooks", default=",".join(COOKS))
    parser.add_argument("--divisions", default=DIVISIONS)
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--show", action="store_true", help="list what went wrong")
    args = parser.parse_args()
    divisions = tuple(args.divisions.split(","))
    for cook in args.cooks.split(","):
        todo = list(cases(args.builds, divisions, COOKS[cook], args.seed))
        with ProcessPoolExecutor(args.jobs) as pool:
            results = list(zip(todo, pool.map(obey, todo), strict=True))
        last = args.seed + len(todo) - 1
        print(f"\n{cook} cooks: divisions {args.divisions}; seeds {args.seed} to {last}")
        print("\n".join(report(tally(results))))
        if args.show:
            print("\n".join(line for result in results for line in failures(*result)))


if __name__ == "__main__":
    main()
