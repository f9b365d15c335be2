"""What a link that drops in the middle of a portion costs: the same runs with and without.

    python -m tests.benchmarks.drops [--builds 300] [--habits clean] [--seed 80000]

Each drop begins while food is moving and lasts as long as a radio may need to come back; the
cook works on meanwhile, and nothing of that is ever seen.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from itertools import pairwise
from typing import TYPE_CHECKING, Final, NamedTuple

from scaled.catalogue import load_profile
from simulators.chance import stream
from simulators.habits import PRESETS
from tests.benchmarks.corpus import Case, cases, listen, play
from tests.benchmarks.score import StepScore, score_steps

if TYPE_CHECKING:
    from scaled.core.reading import Reading
    from simulators.truth import BuildTruth

DROPS: Final = 3
"""Drops in each build, as far as it has that many movements clear of each other."""
LENGTHS_S: Final = ((1.0, 3.0), (3.0, 8.0), (8.0, 20.0))
"""Shortest and longest drop of each row of the table."""
DIVISIONS: Final = "0.1 g,0.5 g,1 g,2 g"
OUTCOMES: Final = ("same", "unsure", "edge", "missed", "wrong")
"""What became of a step: the same word as without drops; unsure or joint; another verdict on a
weight that may honestly go either way; no word at all; wrong."""


class Gap(NamedTuple):
    """A time from which nothing arrived, s."""

    since_s: float
    until_s: float


class Pair(NamedTuple):
    """One step of one run, without drops and with them."""

    case: Case
    whole: StepScore
    cut: StepScore

    @property
    def outcome(self) -> str:
        """What became of it, one of ``OUTCOMES``."""
        if self.cut.wrong:
            return "wrong"
        if self.cut.outcome == "missed":
            return "missed"
        if self.cut.outcome in {"unsure", "joint"}:
            return "unsure"
        whole, cut = self.whole.said, self.cut.said
        alike = whole is not None and cut is not None and whole.verdict is cut.verdict
        return "same" if alike else "edge"


def gaps(builds: Sequence[BuildTruth], case: Case, length_s: tuple[float, float]) -> list[Gap]:
    """Drops that each begin in a movement of the load, none before the last is over."""
    chance = stream(case.seed, f"drops {length_s}")
    found: list[Gap] = []
    for build in builds:
        moving = [
            (a.end_s, b.start_s) for a, b in pairwise(build.rests) if a.end_s > build.placed_s
        ]
        for start_s, end_s in sorted(chance.sample(moving, min(DROPS, len(moving)))):
            since_s = chance.uniform(start_s, end_s)
            until_s = since_s + chance.uniform(*length_s)
            clear = not found or since_s > found[-1].until_s
            if clear and until_s < builds[-1].lifted_s:  # the link comes back
                found.append(Gap(since_s, until_s))
    return found


def arrived(readings: Sequence[Reading], gaps: Sequence[Gap]) -> list[Reading]:
    """The readings that no gap swallowed."""
    return [r for r in readings if not any(gap.since_s <= r.t < gap.until_s for gap in gaps)]


def measure(case: Case, length_s: tuple[float, float]) -> list[Pair]:
    """Play a case once, and listen to it with and without drops."""
    run, readings = play(case)
    profile = load_profile(case.profile)
    through = arrived(readings, gaps(run.builds, case, length_s))
    whole, cut = (
        score_steps(run, listen(case, run, heard), profile) for heard in (readings, through)
    )
    return [Pair(case, one, other) for one, other in zip(whole, cut, strict=True)]


def row(name: str, pairs: Sequence[Pair]) -> str:
    """One line of the table."""
    counts = Counter(pair.outcome for pair in pairs)
    before = sum(pair.whole.wrong for pair in pairs)
    cells = " ".join(f"{100 * counts[outcome] / len(pairs):8.2f}" for outcome in OUTCOMES)
    return f"{name:16s}{len(pairs):8d} {cells}{100 * before / len(pairs):16.2f}"


def wrongs(pairs: Sequence[Pair], length_s: tuple[float, float]) -> Iterator[str]:
    """Each step that is wrong with drops and was not without, to look at."""
    for case, whole, cut in pairs:
        if cut.wrong and not whole.wrong:
            said = cut.said
            yield (
                f"{case.profile} {case.division} {case.rate_hz}/s seed {case.seed} {length_s}:"
                f" build {cut.build} {cut.step}, {cut.outcome}: true {cut.true_g:.1f} g,"
                f" {said}"
            )


def main() -> None:
    """Print a row for each length of drop."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--builds", type=int, default=300)
    parser.add_argument("--habits", choices=sorted(PRESETS), default="clean")
    parser.add_argument("--divisions", default=DIVISIONS)
    parser.add_argument("--seed", type=int, default=80000)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--show", action="store_true", help="list what drops made wrong")
    args = parser.parse_args()
    todo = list(
        cases(args.builds, tuple(args.divisions.split(",")), PRESETS[args.habits], args.seed)
    )
    last = args.seed + len(todo) - 1
    print(f"{args.habits} cooks, {DROPS} drops a build; divisions {args.divisions};", end=" ")
    print(f"seeds {args.seed} to {last}; % of steps")
    heads = " ".join(f"{outcome:>8s}" for outcome in OUTCOMES)
    print(f"{'drops of':16s}{'steps':>8s} {heads}{'wrong without':>16s}")
    with ProcessPoolExecutor(args.jobs) as pool:
        for length_s in LENGTHS_S:
            pairs = [
                pair
                for measured in pool.map(partial(measure, length_s=length_s), todo, chunksize=2)
                for pair in measured
            ]
            print(row("{:g} to {:g} s".format(*length_s), pairs), flush=True)
            if args.show:
                print("\n".join(wrongs(pairs, length_s)))


if __name__ == "__main__":
    main()
