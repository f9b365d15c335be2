"""What the methods cost a reading, one after another in one process."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable, Iterable
from functools import partial
from typing import Final

from scaled.catalogue import load_profile
from scaled.core.reading import Reading
from scaled.core.session import Session
from tests.benchmarks.corpus import Case, play
from tests.benchmarks.measure import Method
from tests.benchmarks.rests import Sample, Told, samples_of
from tests.benchmarks.rule import rule_rests
from tests.benchmarks.segments import segment_rests
from tests.benchmarks.simple_tracker import SimpleTracker

WARM_UP: Final[list[Sample]] = [(0.1 * n, 0.0) for n in range(20)]
"""The library is imported when it is first asked."""


def paces_us(todo: Iterable[Case]) -> dict[Method, float]:
    """Processor time a reading, microseconds: rests, tracking and words, nothing simulated."""
    segment_rests(WARM_UP, 1.0)
    spent_s = dict.fromkeys((Method.ENGINE, Method.RULE, Method.SEGMENTS), 0.0)
    readings = 0
    for case in todo:
        run, stream = play(case)
        readings += len(stream)
        profile, division_g = load_profile(case.profile), run.make.division.size_g
        samples = samples_of(stream)
        rule = partial(rule_rests, samples, division_g, case.rate_hz)
        segments = partial(segment_rests, samples, division_g)
        tracker = SimpleTracker
        spent_s[Method.ENGINE] += _time_s(partial(_read, Session(profile, division_g), stream))
        spent_s[Method.RULE] += _time_s(partial(_track, tracker(profile, division_g), rule))
        spent_s[Method.SEGMENTS] += _time_s(
            partial(_track, tracker(profile, division_g), segments)
        )
    return {method: 1e6 * taken / readings for method, taken in spent_s.items()}


def _read(session: Session, stream: list[Reading]) -> None:
    for reading in stream:
        session.read(reading)
    session.close(stream[-1].t)


def _track(tracker: SimpleTracker, rests: Callable[[], list[Told]]) -> None:
    deque(tracker.rests(rests()), maxlen=0)


def _time_s(work: Callable[[], None]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start
