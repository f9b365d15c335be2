"""How well a screen leads: what came of builds that it led, beside the same without it."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from statistics import fmean, median, quantiles
from typing import TYPE_CHECKING, Final

from scaled.catalogue import load_profile
from scaled.core.check_scale import REFUSED
from scaled.core.check_weights import ROUNDING_G
from tests.benchmarks.score import WRONG, score_steps

if TYPE_CHECKING:
    from simulators.following import GuidedBuild
    from simulators.recipe import RecipeStep
    from simulators.truth import BuildTruth
    from tests.benchmarks.closed_loop import Guided
    from tests.benchmarks.corpus import Case

ALL: Final = "all"
NARROW: Final = "too narrow for the scale"
_COLUMNS: Final = (
    ("builds", 7), ("dead ends", 10), ("steps", 7), ("inside %", 9), ("alone %", 8),
    ("time s", 7), ("needs none", 11), ("lost s", 7), ("p95", 6), ("lost %", 7),
)  # fmt: skip


@dataclass
class Cell:
    """All, or what was seen with one profile, division or rate.

    Attributes:
        steps: True for a step that truly ended inside its limits, of the cook who obeys; a build
            given up has none inside.
        alone: The same of the same cook without a screen.
        builds: What became of each build.
        took_s: How long the builds took that the screen led to their end.
        usual_s: How long a trained cook without a screen took.
        lost_s: How much longer than such a cook's median with the same dish.
        lost: The same as a share of that median.
    """

    steps: Counter[bool] = field(default_factory=Counter)
    alone: Counter[bool] = field(default_factory=Counter)
    builds: list[GuidedBuild] = field(default_factory=list)
    took_s: list[float] = field(default_factory=list)
    usual_s: list[float] = field(default_factory=list)
    lost_s: list[float] = field(default_factory=list)
    lost: list[float] = field(default_factory=list)

    @property
    def dead_ends(self) -> Counter[str]:
        """Why builds were given up."""
        return Counter(build.gave_up for build in self.builds if build.gave_up)


@dataclass(frozen=True)
class Tally:
    """All that was seen of one kind of cook."""

    cells: Mapping[str, Cell]
    said: Counter[str]
    """What the station said of the steps in the end, by outcome."""


Seen = tuple["Case", "Guided", "tuple[BuildTruth, ...]"]
"""A case, its cook led by the screen, and a trained cook who needs none."""


def tally(seen: Iterable[Seen]) -> Tally:
    """Add the runs up."""
    seen = list(seen)
    usual_s = _usual_s(seen)
    cells: dict[str, Cell] = defaultdict(Cell)
    said: Counter[str] = Counter()
    for case, guided, reference in seen:
        scores = score_steps(guided.run, list(guided.events), load_profile(case.profile))
        said.update("wrong" if score.outcome in WRONG else score.outcome for score in scores)
        for name in names_of(case):
            _add_builds(cells[name], guided, reference, usual_s[case.profile])
        for step in guided.steps:
            narrow = is_narrow(step, guided.run.make.division.size_g)
            for name in (NARROW,) if narrow else names_of(case):
                _add_steps(cells[name], step, guided)
    return Tally(dict(cells), said)


def names_of(case: Case) -> tuple[str, ...]:
    """Where a build counts."""
    return ALL, f"d = {case.division}", f"{case.rate_hz} readings/s", case.profile


def is_narrow(step: RecipeStep, division_g: float) -> bool:
    """Whether the scale is too coarse to judge a step."""
    return step.under_g + step.over_g + ROUNDING_G < REFUSED * division_g


def is_inside(step: RecipeStep, truth: BuildTruth) -> bool:
    """Whether a build truly got what the recipe allows of a step."""
    net_g = next(portion.net_g for portion in truth.portions if portion.step == step.id)
    return -step.under_g <= net_g - step.target_g <= step.over_g


def report(tally: Tally) -> Iterator[str]:
    """What the tally says, line by line."""
    yield " " * 25 + "".join(f"{name:>{width}s}" for name, width in _COLUMNS)
    for name in sorted(tally.cells, key=lambda name: (name != ALL, name == NARROW, name)):
        yield f"{name:25s}" + _row(tally.cells[name])
    whole = tally.cells[ALL]
    for why, count in whole.dead_ends.most_common():
        yield f"dead ends: {count} x {why}"
    yield from _work([build for build in whole.builds if not build.gave_up])
    total = tally.said.total()
    words = ", ".join(f"{kind} {100 * n / total:.1f}" for kind, n in tally.said.most_common())
    yield f"said of the steps in the end, %: {words}"


def _usual_s(seen: list[Seen]) -> dict[str, float]:
    """Median time of a build without a screen, by dish."""
    times: dict[str, list[float]] = defaultdict(list)
    for case, _, reference in seen:
        times[case.profile] += map(_took_s, reference)
    return {profile: median(took_s) for profile, took_s in times.items()}


def _took_s(truth: BuildTruth) -> float:
    return truth.lifted_s - truth.placed_s


def _add_builds(
    cell: Cell, guided: Guided, reference: tuple[BuildTruth, ...], usual_s: float
) -> None:
    took_s = [_took_s(build.truth) for build in guided.builds if not build.gave_up]
    cell.builds += guided.builds
    cell.took_s += took_s
    cell.lost_s += [one_s - usual_s for one_s in took_s]
    cell.lost += [one_s / usual_s - 1.0 for one_s in took_s]
    cell.usual_s += map(_took_s, reference)


def _add_steps(cell: Cell, step: RecipeStep, guided: Guided) -> None:
    cell.steps.update(
        not build.gave_up and is_inside(step, build.truth) for build in guided.builds
    )
    cell.alone.update(is_inside(step, truth) for truth in guided.alone)


def _row(cell: Cell) -> str:
    counts = f"{'':7s}{'':10s}"
    if cell.builds:
        counts = f"{len(cell.builds):7d}{cell.dead_ends.total():10d}"
    row = f"{counts}{cell.steps.total():7d}{_percent(cell.steps):9.1f}{_percent(cell.alone):8.1f}"
    if len(cell.took_s) < 2:
        return row
    slow_s = quantiles(cell.lost_s, n=20)[-1]
    row += f"{median(cell.took_s):7.1f}{median(cell.usual_s):11.1f}"
    return f"{row}{median(cell.lost_s):7.1f}{slow_s:6.1f}{100 * median(cell.lost):7.0f}"


def _work(led: list[GuidedBuild]) -> Iterator[str]:
    """Where the time went, in builds that were led to their end."""
    if not led:
        return
    yield (
        f"a build, mean: reading the screen {fmean(build.reading_s for build in led):.1f} s,"
        f" waiting for it {fmean(build.waiting_s for build in led):.1f} s;"
        f" {fmean(build.gestures for build in led):.1f} gestures, of which corrections"
        f" {fmean(build.corrections for build in led):.2f};"
        f" words taken back {fmean(build.contradictions for build in led):.2f},"
        f" keys asked for {fmean(build.taps for build in led):.2f}"
    )


def _percent(counts: Counter[bool]) -> float:
    return 100 * counts[True] / max(1, counts.total())
