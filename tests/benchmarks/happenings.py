"""Did the method see the tare key, the lift, the new bowl?

A happening is recognised when an event of its kind is told within a few seconds. It is harmless
when none is, but neither the last step begun before it nor the first one begun after it was told
wrong or not at all: right or "unsure" will do. Otherwise it was overlooked.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from scaled.core.events import BuildStarted, Event, Lifted, Returned, Rezeroed
from simulators.scene import Run
from simulators.truth import DisturbanceKind
from tests.benchmarks.score import StepScore

BEFORE_S: Final = 0.3
AFTER_S: Final = 5.0
"""An event so long after its cause is still in time: the next rest tells, and a cook may be slow
to let go."""
VISIBLE_D: Final = 2.0
"""A tare key that moves the display by less, in divisions, did nothing anyone could see."""


class Happening(StrEnum):
    """What happened."""

    TARE_KEY = "tare key"
    LIFT = "lift"
    NEW_BOWL = "new bowl"


class Fate(StrEnum):
    """What became of it."""

    RECOGNISED = "recognised"
    HARMLESS = "harmless"
    OVERLOOKED = "overlooked"


@dataclass(frozen=True, slots=True)
class Cause:
    """One happening: each of its events is due between two times."""

    kind: Happening
    at_s: float
    due: tuple[tuple[type[Event], float, float], ...]


def fates(
    run: Run, events: Sequence[Event], scores: Sequence[StepScore]
) -> Counter[tuple[Happening, Fate]]:
    """How many happenings of each kind met each fate."""
    bad = _bad_steps(run, scores)
    return Counter((cause.kind, _fate(cause, events, bad)) for cause in causes(run))


def uncaused(run: Run, events: Sequence[Event]) -> int:
    """Events of these kinds that nothing caused."""
    due = [one for cause in causes(run) for one in cause.due]
    due += [(Lifted, b.lifted_s - 1.0 - BEFORE_S, b.lifted_s + AFTER_S) for b in run.builds]
    told = [e for e in events if isinstance(e, BuildStarted | Lifted | Returned | Rezeroed)]
    return sum(
        not any(
            isinstance(event, kind) and since <= event.t <= until for kind, since, until in due
        )
        for event in told
    )


def causes(run: Run) -> Iterator[Cause]:
    """All happenings of a run that could be seen."""
    for build in run.builds:
        due = (BuildStarted, build.placed_s - BEFORE_S, build.placed_s + AFTER_S)
        yield Cause(Happening.NEW_BOWL, build.placed_s, (due,))
        for one in build.disturbances:
            start_s, end_s = one.start_s - BEFORE_S, one.end_s + AFTER_S
            if one.kind is DisturbanceKind.LIFT:
                off = (Lifted, start_s, one.end_s + BEFORE_S)
                yield Cause(Happening.LIFT, one.start_s, (off, (Returned, start_s, end_s)))
            elif one.kind is DisturbanceKind.TARE_KEY and _visible(run, one.start_s):
                yield Cause(Happening.TARE_KEY, one.start_s, ((Rezeroed, start_s, end_s),))


def _visible(run: Run, key_s: float) -> bool:
    after = bisect_left(run.zeros_g, (key_s,))
    if not 0 < after < len(run.zeros_g):
        return False
    moved_g = abs(run.zeros_g[after][1] - run.zeros_g[after - 1][1])
    return moved_g > VISIBLE_D * run.make.division.size_g


def _fate(cause: Cause, events: Sequence[Event], bad: Sequence[tuple[float, bool]]) -> Fate:
    if all(
        any(isinstance(event, kind) and since <= event.t <= until for event in events)
        for kind, since, until in cause.due
    ):
        return Fate.RECOGNISED
    place = bisect_left(bad, (cause.at_s,))
    neighbours = bad[max(0, place - 1) : place + 1]
    return Fate.OVERLOOKED if any(wrong for _, wrong in neighbours) else Fate.HARMLESS


def _bad_steps(run: Run, scores: Sequence[StepScore]) -> list[tuple[float, bool]]:
    """When each step was begun, and whether it was told wrong or not at all; in that order."""
    bad = {(s.build, s.step): s.wrong or s.outcome == "missed" for s in scores}
    return sorted(
        (portion.start_s, bad[build.number, portion.step])
        for build in run.builds
        for portion in build.portions
        if portion.start_s is not None
    )
