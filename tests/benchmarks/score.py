"""Holds the engine's events against the simulation's truth, step by step."""

from __future__ import annotations

from bisect import bisect_right
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from statistics import median

from scaled.core.events import Attribution, BuildStarted, Event, Portion, Settled, Verdict
from scaled.core.profile import BuildProfile
from scaled.core.reading import GRAMS, Reading, Unit
from scaled.core.verdict import Band
from simulators.scene import Run
from simulators.truth import BuildTruth, PortionTruth, Rest

LIMIT_U = 2.0
"""A true weight this many standard uncertainties from a limit can honestly go either way."""
OFF_U = 4.0
"""A weight further off than this, in standard uncertainties, was attributed wrongly."""
LEAST_OFF_G = 0.5
WRONG = ("wrong weight", "false pass", "false fail")
"""Outcomes that should not be."""


@dataclass(frozen=True)
class StepScore:
    """One step's outcome: ``right``, ``borderline``, ``unsure``, ``joint``, ``missed`` or a
    kind of wrong (``wrong weight``, ``false pass``, ``false fail``)."""

    outcome: str
    build: int
    step: str
    true_g: float
    said: Portion | None

    @property
    def wrong(self) -> bool:
        return self.outcome in WRONG


def score_steps(run: Run, events: list[Event], profile: BuildProfile) -> list[StepScore]:
    """One score for every step of every build really made."""
    said = _said(run.builds, events)
    bands = {s.id: Band.around(s.target_g, s.under_g, s.over_g) for s in profile.steps}
    return [
        StepScore(
            _outcome(portion, said.get((build.number, portion.step)), bands[portion.step]),
            build.number,
            portion.step,
            portion.net_g,
            said.get((build.number, portion.step)),
        )
        for build in run.builds
        for portion in build.portions
    ]


def _said(builds: tuple[BuildTruth, ...], events: list[Event]) -> dict[tuple[int, str], Portion]:
    """Last final word by true build number and step; engine builds are matched by time."""
    placed = [build.placed_s for build in builds]
    true_number = {0: 0}
    for event in events:
        if isinstance(event, BuildStarted):
            true_number[event.build] = bisect_right(placed, event.t)
    return {
        (true_number.get(e.build, 0), e.step): e for e in events if isinstance(e, Portion)
    }  # fmt: skip


def _outcome(truth: PortionTruth, said: Portion | None, band: Band) -> str:
    if said is None:
        return "missed"
    if said.net_g is None or said.u_g is None or said.attribution is not Attribution.SURE:
        return "joint" if said.attribution is Attribution.JOINT else "unsure"
    if abs(said.net_g - truth.net_g) > max(OFF_U * said.u_g, LEAST_OFF_G):
        return "wrong weight"
    if said.verdict is band.judge(truth.net_g):
        return "right"
    if said.doubt is not None or _near_limit(truth.net_g, band, said.u_g):
        return "borderline"
    return "false pass" if said.verdict is Verdict.PASS else "false fail"


def misjudged(score: StepScore, band: Band) -> str | None:
    """``false pass`` or ``false fail`` when the verdict is wrong beyond its uncertainty.

    For whatever reason: also when the weight was attributed wrongly.
    """
    said = score.said
    if said is None or said.u_g is None or said.verdict is Verdict.UNSURE:
        return None
    passes = band.judge(score.true_g) is Verdict.PASS
    if passes is (said.verdict is Verdict.PASS) or _near_limit(score.true_g, band, said.u_g):
        return None
    return "false fail" if passes else "false pass"


def _near_limit(true_g: float, band: Band, u_g: float) -> bool:
    return min(abs(true_g - band.low_g), abs(true_g - band.high_g)) <= LIMIT_U * u_g


@dataclass(frozen=True)
class RestScore:
    """One true rest: how soon it was seen, s after the display had truly settled.

    ``delay_s`` is None when it was missed; it is negative when the level was told before the
    display had quite arrived.
    """

    delay_s: float | None


SETTLED_D = 1.0
"""The display has settled when all that follows stays within this many divisions."""
LEAST_REST_S = 0.5
"""Rests whose settled part is shorter are not asked for."""


def score_rests(run: Run, readings: list[Reading], events: list[Event]) -> list[RestScore]:
    """How soon each true rest, long enough to be seen, was called settled."""
    settled = [event.t for event in events if isinstance(event, Settled)]
    times = [reading.t for reading in readings]
    grams = [reading.weight * GRAMS[reading.unit or Unit.G] for reading in readings]
    scores = []
    for rest in _rests(run.builds):
        first, last = bisect_right(times, rest.start_s), bisect_right(times, rest.end_s)
        still_s = still_since(times[first:last], grams[first:last], run.make.division.size_g)
        if still_s is None or rest.end_s - still_s < LEAST_REST_S:
            continue
        place = bisect_right(settled, rest.start_s)
        seen_s = settled[place] if place < len(settled) else float("inf")
        # The display lags the load, so a rest may be called a little after it has ended.
        scores.append(RestScore(seen_s - still_s if seen_s <= rest.end_s + 0.3 else None))
    return scores


def still_since(times: list[float], grams: list[float], division_g: float) -> float | None:
    """Time from which the display stays put to the end of a rest, given the readings in it."""
    if len(times) < 3:
        return None
    level = median(grams[-max(3, len(grams) // 2) :])
    since = None
    for t, weight in zip(reversed(times), reversed(grams), strict=True):
        if abs(weight - level) > SETTLED_D * division_g * 1.01:
            break
        since = t
    return since


def _rests(builds: Iterable[BuildTruth]) -> list[Rest]:
    return [rest for build in builds for rest in build.rests]


def shares(scores: Iterable[StepScore]) -> Counter[str]:
    """How many steps had each outcome."""
    return Counter(score.outcome for score in scores)
