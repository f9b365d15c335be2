"""True rests of the display, and how a method's rests are held against them.

A true rest is a stretch in which no hand moved the load and no key moved the display. It is
asked for when the display visibly moved before it and then stood still for long enough. Its true
level is the load plus where the scale's zero then stood, so that drift and tare, which no method
can know, count for nobody.

A told rest is false when a hand moved the load at that time, or when its level is far off, as on
an indicator whose filter still shows a knock. The first that is not answers a true rest: one told
in it, no earlier than :data:`EARLY_S` before the display stood still, or one told before that
still stands at its level. Levels are compared only with words of the first kind, away from keys
and garbled readings.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from math import nan
from typing import Final

from scaled.core.reading import GRAMS, Reading, Unit
from simulators.scene import Run
from simulators.truth import DisturbanceKind
from tests.benchmarks.score import LEAST_REST_S, still_since

Sample = tuple[float, float]
"""Time of a reading, s, and the weight it shows, g."""

MOVED_D: Final = 2.0
"""The display moved when it showed something further than so many divisions from the level."""
EARLY_S: Final = 0.3
"""A rest told earlier than so long before the display was still was told of a moving display."""
LATE_S: Final = 0.3
"""The display lags the load: a rest may be told so long after it has ended."""
NEAR_D: Final = 2.0
"""A rest told too early is an answer when it stands, its level no further off than this."""
FALSE_D: Final = 3.0
FALSE_G: Final = 0.5
"""A rest whose level is off by more than so many divisions, and more than so much, is false."""
KEYS: Final = frozenset({DisturbanceKind.TARE_KEY, DisturbanceKind.UNIT_KEY})
KEY_CLEAR_S: Final = 1.0
FAULT_CLEAR_S: Final = 0.5
"""Levels are compared in rests without a key or a garbled reading this near before them."""


@dataclass(frozen=True, slots=True)
class Told:
    """A method's word that the pan is at rest.

    Attributes:
        at_s: When it was said.
        until_s: When it held no longer; infinite when it held to the end.
        level_g: The level as it was said.
        booked_g: The level as it stood in the end.
        u_g: Standard uncertainty of the level as it was said; NaN when the method tells none.
        booked_u_g: The same of the level as it stood in the end.
    """

    at_s: float
    until_s: float
    level_g: float
    booked_g: float
    u_g: float = nan
    booked_u_g: float = nan


@dataclass(frozen=True, slots=True)
class TrueRest:
    """One rest of the display.

    Attributes:
        start_s: When the load had come to rest.
        still_s: When the display had.
        end_s: When the load, or a key, moved again.
        load_g: What lay on the pan.
        level_g: What the display ought to show.
        division_g: The display's step at that time.
        plain: No key and no garbled reading is near.
    """

    start_s: float
    still_s: float
    end_s: float
    load_g: float
    level_g: float
    division_g: float
    plain: bool


@dataclass
class RestFigures:
    """How well a method told the rests that were asked for.

    Attributes:
        asked: Rests asked for.
        delays_s: From the display's standing still to the word, of those told.
        errors_d: Levels as told, off by so many divisions, in plain rests told in time.
        booked_d: The same of the levels as booked.
        errors_u: Levels as told, off by so many of their standard uncertainties.
        booked_u: The same of the levels as booked.
        told: Rests told in all.
        false: Of these, false ones.
    """

    asked: int = 0
    delays_s: list[float] = field(default_factory=list)
    errors_d: list[float] = field(default_factory=list)
    booked_d: list[float] = field(default_factory=list)
    errors_u: list[float] = field(default_factory=list)
    booked_u: list[float] = field(default_factory=list)
    told: int = 0
    false: int = 0

    def add(self, other: RestFigures) -> None:
        """Count another run in."""
        self.asked += other.asked
        self.delays_s += other.delays_s
        self.errors_d += other.errors_d
        self.booked_d += other.booked_d
        self.errors_u += other.errors_u
        self.booked_u += other.booked_u
        self.told += other.told
        self.false += other.false


def samples_of(readings: Iterable[Reading]) -> list[Sample]:
    """Readings in grams, those sent twice left out."""
    samples: list[Sample] = []
    for reading in readings:
        if not samples or reading.t > samples[-1][0]:
            samples.append((reading.t, reading.weight * GRAMS[reading.unit or Unit.G]))
    return samples


def true_rests(run: Run, readings: Sequence[Reading]) -> list[TrueRest]:
    """The rests to ask for, in order."""
    garbled = [f.start_s for f in run.faults if f.kind is DisturbanceKind.GARBLED]
    keys = _keys(run)
    wrong = set(garbled)
    samples = samples_of(r for r in readings if r.t not in wrong)
    units = {reading.t: reading.unit or Unit.G for reading in readings}
    times = [t for t, _ in samples]
    found: list[TrueRest] = []
    moved_from: int | None = None
    for start_s, end_s, load_g in _pieces(run):
        first, last = bisect_right(times, start_s), bisect_right(times, end_s)
        if first == last:
            continue
        division_g = run.make.division.to(units[times[first]]).size_g
        still_s = still_since(times[first:last], [g for _, g in samples[first:last]], division_g)
        if still_s is None:
            continue
        level_g = load_g + _zero_g(run, still_s)
        since = times.index(still_s) if moved_from is None else moved_from
        between = samples[since : bisect_left(times, still_s)]
        moved = any(abs(g - level_g) > MOVED_D * division_g for _, g in between)
        if moved and end_s - still_s >= LEAST_REST_S:
            plain = not (
                _near(keys, start_s - KEY_CLEAR_S, end_s)
                or _near(garbled, start_s - FAULT_CLEAR_S, end_s)
            )
            found.append(TrueRest(start_s, still_s, end_s, load_g, level_g, division_g, plain))
        moved_from = last - 1
    return found


def compare(run: Run, rests: Sequence[TrueRest], told: Sequence[Told]) -> RestFigures:
    """Hold what was told, in order of time, against the rests asked for."""
    placed = [(word, _place(run, word)) for word in told]
    good = [(word, place) for word, place in placed if place is not None]
    figures = RestFigures(asked=len(rests), told=len(told), false=len(told) - len(good))
    for rest in rests:
        word = next((w for w, start_s in good if _answers(rest, w, start_s)), None)
        if word is None:
            continue
        figures.delays_s.append(max(word.at_s - rest.still_s, -EARLY_S))
        if rest.plain and word.at_s >= max(rest.start_s, rest.still_s - EARLY_S):
            figures.errors_d.append((word.level_g - rest.level_g) / rest.division_g)
            figures.booked_d.append((word.booked_g - rest.level_g) / rest.division_g)
            figures.errors_u.append((word.level_g - rest.level_g) / word.u_g)
            figures.booked_u.append((word.booked_g - rest.level_g) / word.booked_u_g)
    return figures


def _answers(rest: TrueRest, word: Told, start_s: float) -> bool:
    """Whether a word, said in the rest that began at ``start_s``, says that this one is a rest."""
    if start_s == rest.start_s and word.at_s >= rest.still_s - EARLY_S:
        return True
    near = abs(word.level_g - rest.level_g) <= NEAR_D * rest.division_g
    return near and word.at_s <= rest.end_s and word.until_s > rest.still_s


def _place(run: Run, word: Told) -> float | None:
    """Start of the newest rest that a word can be about; None when it is false."""
    far_g = max(FALSE_D * run.make.division.size_g, FALSE_G)
    fits = [
        start_s
        for start_s, end_s, load_g in _pieces(run)
        if start_s <= word.at_s <= end_s + LATE_S
        and abs(word.level_g - load_g - _zero_g(run, min(word.at_s, end_s))) <= far_g
    ]
    return fits[-1] if fits else None


def _pieces(run: Run) -> Iterator[tuple[float, float, float]]:
    """Start, end and load of every rest, cut where a key was pressed in it."""
    keys = _keys(run)
    for rest in (rest for build in run.builds for rest in build.rests):
        inside = [key for key in keys if rest.start_s <= key <= rest.end_s]
        for start_s, end_s in zip([rest.start_s, *inside], [*inside, rest.end_s], strict=True):
            yield start_s, end_s, rest.load_g


def _keys(run: Run) -> list[float]:
    return [d.start_s for build in run.builds for d in build.disturbances if d.kind in KEYS]


def _near(times: Iterable[float], since_s: float, end_s: float) -> bool:
    return any(since_s <= t <= end_s + LATE_S for t in times)


def _zero_g(run: Run, t: float) -> float:
    """Where the scale's zero stood at the reading next to come."""
    place = bisect_left(run.zeros_g, (t - 1e-6,))
    return run.zeros_g[min(place, len(run.zeros_g) - 1)][1]
