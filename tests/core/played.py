"""Simulated runs with what was said of them, and what it means to be told the same."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from math import hypot

import pytest

from scaled.catalogue import find_profile, load_profile
from scaled.core.events import Attribution, Event, Portion
from scaled.core.reading import Reading, Unit
from scaled.core.session import Session
from simulators.habits import CLEAN, MESSY
from simulators.scene import Plan, simulate
from simulators.truth import BuildTruth

PROFILES = ("winter-barley-bowl", "orchard-oat-pot", "millstone-flatbread")
SEEDS = (1, 2)
HABITS = {"clean": CLEAN, "messy": MESSY}
DIVISION_G = 0.5
BUILDS = 2


@dataclass(frozen=True)
class Played:
    """A simulated run: the profile, what the scale showed, what really happened, what was said."""

    profile: str
    readings: tuple[Reading, ...]
    truth: tuple[BuildTruth, ...]
    said: list[Event]

    def session(self) -> Session:
        return Session(load_profile(self.profile), DIVISION_G)


@cache
def play(profile: str, seed: int, habits: str = "clean") -> Played:
    run = simulate(
        Plan(
            recipe_text=find_profile(profile).text,
            seed=seed,
            division=f"{DIVISION_G} g",
            habits=HABITS[habits],
            builds=BUILDS,
        )
    )
    shown = tuple(Reading(r.t, float(r.weight), Unit(r.unit), r.stable) for r in run.readings)
    return Played(profile, shown, run.builds, said(profile, shown))


def said(
    profile: str, readings: Iterable[Reading], division_g: float | None = DIVISION_G
) -> list[Event]:
    session = Session(load_profile(profile), division_g)
    shown = list(readings)
    events = [event for reading in shown for event in session.read(reading)]
    return [*events, *session.close(shown[-1].t)]


def portions(events: Iterable[Event]) -> list[Portion]:
    """All final words, build by build, steps in the order of their names."""
    words = [event for event in events if isinstance(event, Portion)]
    return sorted(words, key=lambda word: (word.build, word.step))


def assert_same_words(some: Iterable[Event], others: Iterable[Event]) -> None:
    """The same steps with the same verdicts on the same weights, to a milligram."""
    one, other = portions(some), portions(others)
    assert [(word.build, word.step, word.verdict) for word in one] == [
        (word.build, word.step, word.verdict) for word in other
    ]
    for word, again in zip(one, other, strict=True):
        assert (word.net_g is None) == (again.net_g is None)
        if word.net_g is not None:
            assert word.net_g == pytest.approx(again.net_g, abs=0.001)


def assert_compatible_words(some: Iterable[Event], others: Iterable[Event]) -> None:
    """Weights within their uncertainties, and what was sure is seldom not."""
    one, other = portions(some), portions(others)
    assert [(word.build, word.step) for word in one] == [(word.build, word.step) for word in other]
    both = [
        pair
        for pair in zip(one, other, strict=True)
        if all(word.attribution is Attribution.SURE for word in pair)
    ]
    sure = [word for word in one if word.attribution is Attribution.SURE]
    assert len(both) >= 0.6 * len(sure) > 0
    for word, again in both:
        assert word.net_g is not None
        assert again.net_g is not None
        assert word.u_g is not None
        assert again.u_g is not None
        assert abs(word.net_g - again.net_g) <= 3 * hypot(word.u_g, again.u_g)
        if min(word.confidence, again.confidence) > 0.9:
            assert word.verdict is again.verdict
