"""How many wire formats are learnt from their bytes and one known weight.

    python -m tests.benchmarks.learning [--first SEED] [--count N]

Every shipped format, then formats drawn by chance. One is learnt when all of some 150 frames of
later use, other weights, units, tares and motion, give the weight, unit and stability that were
shown. The inference was worked out on seeds 0 to 99, 1000 to 1099 and 5000 to
5099; the figures are of others.
"""

from __future__ import annotations

import argparse
import time

from simulators.wire import WIRES
from tests.benchmarks.classroom import Pupil, examined, made_up, shipped, taught


def main() -> None:
    """Print a line for each that was not learnt, and the sums."""
    parser = argparse.ArgumentParser(description="How many wire formats are learnt.")
    parser.add_argument("--first", type=int, default=20_000)
    parser.add_argument("--count", type=int, default=100)
    args = parser.parse_args()
    began = time.monotonic()
    learnt = sum(_tell(shipped(name), 7) for name in WIRES)
    print(f"shipped formats: {learnt} of {len(WIRES)}")
    seeds = range(args.first, args.first + args.count)
    learnt = sum(_tell(made_up(seed), seed) for seed in seeds)
    print(f"random formats, seeds {seeds[0]} to {seeds[-1]}: {learnt} of {len(seeds)}")
    print(f"{(time.monotonic() - began) / (len(WIRES) + len(seeds)):.2f} s each")


def _tell(pupil: Pupil, seed: int) -> bool:
    learnt = taught(pupil, seed)
    if learnt is None:
        print(f"seed {seed}: nothing learnt; {pupil.name}")
        return False
    mark = examined(pupil, learnt, seed + 10_000)
    if not mark.passed:
        print(f"seed {seed}: {mark.right} of {mark.asked}, {mark.wrong}; {pupil.name}")
    return mark.passed


if __name__ == "__main__":
    main()
