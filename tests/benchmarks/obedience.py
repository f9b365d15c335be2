"""Does the screen lead a cook well: a cook who obeys it, beside cooks without a screen.

    python -m tests.benchmarks.obedience [--builds 216] [--cooks trained,...] [--seed 1000000]

Builds go round three profiles, divisions and 5, 10 and 20 readings a second: 216 are one round.
What a step truly got is the simulation's; a step whose limits are less than four divisions apart
cannot be judged on its scale and is counted apart. "alone" is the same cook without a screen,
"needs none" a trained cook without one, in the same runs; time is from bowl down to bowl off, and
lost is what a build took longer than that cook's median with the same dish. A dead end is a build
that the cook gave up: the screen left him standing for half a minute, took its word back again
and again, or led in circles. Tuning used seeds below 1000000; dead ends of 6500000, 7100000 and
7400000 were mended one by one.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from simulators.habits import CLEAN, MESSY, UNTRAINED
from tests.benchmarks.closed_loop import Guided, alone, obey
from tests.benchmarks.corpus import DIVISIONS, Case, cases
from tests.benchmarks.leading import Seen, is_inside, is_narrow, report, tally

if TYPE_CHECKING:
    from simulators.habits import Habits

COOKS: Final = MappingProxyType({"trained": CLEAN, "untrained": UNTRAINED, "hurried": MESSY})
BUILDS: Final = 216
SEED: Final = 1000000


def watch(case: Case) -> Seen:
    """Let a case's cook be led, and a trained one do without."""
    guided = obey(case)
    trained = guided.alone if case.habits == CLEAN else alone(replace(case, habits=CLEAN))
    return case, guided, trained


def failures(case: Case, guided: Guided) -> Iterator[str]:
    """Each dead end and each step that went wrong, to look at."""
    where = f"{case.profile} {case.division} {case.rate_hz}/s, seed {case.seed}, build"
    for build in guided.builds:
        truth = build.truth
        if build.gave_up:
            yield f"{where} {truth.number}: dead end, {build.gave_up}, {truth.lifted_s:.0f} s"
            continue
        for step, portion in zip(guided.steps, truth.portions, strict=True):
            narrow = is_narrow(step, guided.run.make.division.size_g)
            if not narrow and not is_inside(step, truth):
                off_g = portion.net_g - step.target_g
                yield f"{where} {truth.number}: {step.id} {off_g:+.1f} g, {portion.end_s} s"


def show(cook: str, habits: Habits, args: argparse.Namespace) -> None:
    """Print one kind of cook's table."""
    todo = list(cases(args.builds, tuple(args.divisions.split(",")), habits, args.seed))
    with ProcessPoolExecutor(args.jobs) as pool:
        seen = list(pool.map(watch, todo))
    last = args.seed + len(todo) - 1
    print(f"\n{cook} cooks: divisions {args.divisions}; seeds {args.seed} to {last}")
    print("\n".join(report(tally(seen))))
    if args.show:
        print("\n".join(line for case, guided, _ in seen for line in failures(case, guided)))


def main() -> None:
    """Print a table for each kind of cook."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--builds", type=int, default=BUILDS, help="of each kind of cook")
    parser.add_argument("--cooks", default=",".join(COOKS))
    parser.add_argument("--divisions", default=",".join(DIVISIONS))
    parser.add_argument("--seed", type=int, default=SEED)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--show", action="store_true", help="list what went wrong")
    args = parser.parse_args()
    for cook in args.cooks.split(","):
        show(cook, COOKS[cook], args)


if __name__ == "__main__":
    main()
