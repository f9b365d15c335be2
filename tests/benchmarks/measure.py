"""Every method on one simulated run, and what is counted of each."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

from scaled.catalogue import load_profile
from scaled.core.events import Event
from scaled.core.profile import BuildProfile
from scaled.core.verdict import Band
from simulators.scene import Run
from tests.benchmarks.corpus import Case, play
from tests.benchmarks.engine import hear, settled_rests
from tests.benchmarks.happenings import Fate, Happening, fates, uncaused
from tests.benchmarks.oracle import oracle_rests
from tests.benchmarks.provisional import RoughFigures, rough_words, roughly
from tests.benchmarks.rests import (
    RestFigures,
    Sample,
    Told,
    TrueRest,
    compare,
    samples_of,
    true_rests,
)
from tests.benchmarks.rule import rule_rests
from tests.benchmarks.score import misjudged, score_steps, shares
from tests.benchmarks.segments import segment_rests
from tests.benchmarks.simple_tracker import SimpleTracker

NARROWEST_D: Final = 4 / math.sqrt(6)
"""Width of the narrowest limits that a scale can judge, in divisions: u of a portion is at least
d/sqrt(6), as the difference of two rounded readings (JCGM 100:2008, F.2.2.1)."""


class Method(StrEnum):
    """What is compared."""

    ENGINE = "this engine"
    RULE = "last k ±1 d"
    SEGMENTS = "segments*"
    ORACLE = "oracle"


@dataclass
class Figures:
    """What was counted of one method, over one run or many.

    Attributes:
        builds: Containers served.
        wrong_builds: Those with a step told wrong.
        outcomes: Steps by outcome.
        fit: Those whose limits are wide enough for the scale (JCGM 106:2012, 7.6.3: 4 u fit in,
            with the least u that rounding leaves).
        misjudged: Steps with a false pass or a false fail.
        fates: What became of tare keys, lifts and new bowls.
        uncaused: Events of these kinds that nothing caused.
        rests: How well rests were told.
        shown_s: When the live state showed the final weight, after the display stood still.
        rough: How good rough words on moving weights were.
    """

    builds: int = 0
    wrong_builds: int = 0
    outcomes: Counter[str] = field(default_factory=Counter)
    fit: Counter[str] = field(default_factory=Counter)
    misjudged: Counter[str] = field(default_factory=Counter)
    fates: Counter[tuple[Happening, Fate]] = field(default_factory=Counter)
    uncaused: int = 0
    rests: RestFigures = field(default_factory=RestFigures)
    shown_s: list[float] = field(default_factory=list)
    rough: RoughFigures = field(default_factory=RoughFigures)

    def add(self, other: Figures) -> None:
        """Count another run in."""
        self.builds += other.builds
        self.wrong_builds += other.wrong_builds
        self.outcomes += other.outcomes
        self.fit += other.fit
        self.misjudged += other.misjudged
        self.fates += other.fates
        self.uncaused += other.uncaused
        self.rests.add(other.rests)
        self.shown_s += other.shown_s
        self.rough.add(other.rough)


def measure(case: Case) -> dict[Method, Figures]:
    """Simulate a case and count what each method says of it."""
    run, readings = play(case)
    profile, division_g = load_profile(case.profile), run.make.division.size_g
    samples, rests = samples_of(readings), true_rests(run, readings)
    heard = hear(profile, division_g, readings, rests)
    figures = {
        Method.ENGINE: count(
            run, profile, rests, settled_rests(readings, division_g), heard.events
        )
    }
    figures[Method.ENGINE].shown_s = heard.shown_s
    figures[Method.ENGINE].rough = roughly(list(rough_words(readings, division_g)), rests)
    for method, told in rivals(case, run, samples, rests).items():
        events = list(SimpleTracker(profile, division_g).rests(told))
        figures[method] = count(run, profile, rests, told, events)
    return figures


def rivals(
    case: Case, run: Run, samples: Sequence[Sample], rests: Sequence[TrueRest]
) -> Mapping[Method, list[Told]]:
    """The rests that everything but the engine tells; the simple tracker takes it from there."""
    division_g = run.make.division.size_g
    return {
        Method.RULE: rule_rests(samples, division_g, case.rate_hz),
        Method.SEGMENTS: segment_rests(samples, division_g),
        Method.ORACLE: oracle_rests(run, samples, rests),
    }


def count(
    run: Run,
    profile: BuildProfile,
    rests: Sequence[TrueRest],
    told: Sequence[Told],
    events: list[Event],
) -> Figures:
    """Hold what a method told of one run against the truth."""
    scores = score_steps(run, events, profile)
    bands = {s.id: Band.around(s.target_g, s.under_g, s.over_g) for s in profile.steps}
    judged = (misjudged(score, bands[score.step]) for score in scores)
    narrowest_g = NARROWEST_D * run.make.division.size_g
    fit = [score for score in scores if bands[score.step].width_g >= narrowest_g]
    return Figures(
        builds=len(run.builds),
        wrong_builds=len({score.build for score in scores if score.wrong}),
        outcomes=shares(scores),
        fit=shares(fit),
        misjudged=Counter(kind for kind in judged if kind),
        fates=fates(run, events, scores),
        uncaused=uncaused(run, events),
        rests=compare(run, rests, told),
    )
