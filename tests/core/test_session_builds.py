"""Whole simulated builds: what must not change what is said of them."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass, replace
from functools import cache
from math import hypot

import pytest

from scaled.catalogue import find_profile, load_profile
from scaled.core.events import Attribution, Event, Portion, event_line
from scaled.core.reading import GRAMS, Reading, Unit
from scaled.core.session import Session
from simulators.habits import CLEAN, MESSY, Habits
from simulators.scene import Plan, simulate
from simulators.truth import BuildTruth

PROFILES = ("winter-barley-bowl", "orchard-oat-pot", "millstone-flatbread")
DIVISION_G = 0.5
BUILDS = 2
HABITS = {"clean": CLEAN, "messy": MESSY}


@dataclass(frozen=True)
class Played:
    """A simulated run: the profile, what the scale showed, what really happened, what was said."""

    profile: str
    readings: tuple[Reading, ...]
    truth: tuple[BuildTruth, ...]
    said: list[Event]


@cache
def play(profile: str, seed: int, habits: Habits) -> Played:
    text = find_profile(profile).text
    run = simulate(
        Plan(recipe_text=text, seed=seed, division=f"{DIVISION_G} g", habits=habits, builds=BUILDS)
    )
    shown = tuple(Reading(r.t, float(r.weight), Unit(r.unit), r.stable) for r in run.readings)
    return Played(profile, shown, run.builds, said(profile, shown))


@pytest.fixture(params=[(profile, seed) for profile in PROFILES for seed in (1, 2)], ids=str)
def clean(request: pytest.FixtureRequest) -> Played:
    profile, seed = request.param
    return play(profile, seed, CLEAN)


def said(
    profile: str, readings: tuple[Reading, ...], division_g: float | None = DIVISION_G
) -> list[Event]:
    session = Session(load_profile(profile), division_g)
    events = [event for reading in readings for event in session.read(reading)]
    return [*events, *session.close(readings[-1].t)]


def portions(events: list[Event]) -> list[Portion]:
    """All final words, build by build, steps in the order of their names."""
    words = [event for event in events if isinstance(event, Portion)]
    return sorted(words, key=lambda word: (word.build, word.step))


def assert_same_words(some: list[Event], others: list[Event]) -> None:
    """The same steps with the same verdicts on the same weights, to a milligram."""
    one, other = portions(some), portions(others)
    assert [(word.build, word.step, word.verdict) for word in one] == [
        (word.build, word.step, word.verdict) for word in other
    ]
    for word, again in zip(one, other, strict=True):
        assert (word.net_g is None) == (again.net_g is None)
        if word.net_g is not None:
            assert word.net_g == pytest.approx(again.net_g, abs=0.001)


def assert_compatible_words(some: list[Event], others: list[Event]) -> None:
    """Weights within their uncertainties, and what was sure is seldom not."""
    one, other = portions(some), portions(others)
    assert [(word.build, word.step) for word in one] == [(word.build, word.step) for word in other]
    both = [
        pair
        for pair in zip(one, other, strict=True)
        if all(word.attribution is Attribution.SURE for word in pair)
    ]
    sure = [word for word in one if word.attribution is Attribution.SURE]
    assert len(both) >= 0.8 * len(sure) > 0
    for word, again in both:
        assert word.net_g is not None
        assert again.net_g is not None
        assert word.u_g is not None
        assert again.u_g is not None
        assert abs(word.net_g - again.net_g) <= 3 * hypot(word.u_g, again.u_g)
        if min(word.confidence, again.confidence) > 0.9:
            assert word.verdict is again.verdict


@pytest.mark.parametrize("habits", HABITS)
@pytest.mark.parametrize("profile", PROFILES)
def test_the_same_readings_give_the_same_bytes(profile: str, habits: str) -> None:
    run = play(profile, 1, HABITS[habits])
    once, again = run.said, said(profile, run.readings)
    assert [event_line(event) for event in once] == [event_line(event) for event in again]


def test_a_clean_build_is_attributed_rightly(clean: Played) -> None:
    """Wrong is never; unsure and joint are seldom."""
    real = {
        (build.number, portion.step): portion.net_g
        for build in clean.truth
        for portion in build.portions
    }
    words = portions(clean.said)
    assert {(word.build, word.step) for word in words} == set(real)
    sure = [word for word in words if word.attribution is Attribution.SURE]
    assert len(sure) >= 0.8 * len(words)
    for word in sure:
        assert word.net_g is not None
        assert word.u_g is not None
        assert abs(word.net_g - real[word.build, word.step]) <= max(4 * word.u_g, 0.5)


@pytest.mark.parametrize("offset_g", [37.0, -12.5, 800.0])
def test_where_the_scale_shows_zero_changes_nothing(clean: Played, offset_g: float) -> None:
    moved = tuple(replace(reading, weight=reading.weight + offset_g) for reading in clean.readings)
    assert_same_words(clean.said, said(clean.profile, moved))


def test_a_day_later_the_same_is_said(clean: Played) -> None:
    # Not to the milligram: a reading on the edge of a time span may round to its other side.
    later = tuple(replace(reading, t=reading.t + 86_400.0) for reading in clean.readings)
    assert_compatible_words(clean.said, said(clean.profile, later))


def test_kilograms_instead_of_grams_change_nothing(clean: Played) -> None:
    kilograms = tuple(
        replace(reading, weight=reading.weight / 1000, unit=Unit.KG) for reading in clean.readings
    )
    assert_same_words(clean.said, said(clean.profile, kilograms))


def test_readings_without_a_unit_are_grams_until_one_has_a_unit(clean: Played) -> None:
    bare = tuple(replace(reading, unit=None) for reading in clean.readings)
    assert_same_words(clean.said, said(clean.profile, bare))


def test_ounces_on_a_fine_scale_tell_the_same(clean: Played) -> None:
    division_oz = 0.02
    ounces = tuple(
        replace(
            reading,
            weight=round(reading.weight / GRAMS[Unit.OZ] / division_oz) * division_oz,
            unit=Unit.OZ,
        )
        for reading in clean.readings
    )
    in_ounces = said(clean.profile, ounces, division_oz * GRAMS[Unit.OZ])
    assert_compatible_words(clean.said, in_ounces)


@pytest.mark.parametrize("habits", HABITS)
@pytest.mark.parametrize("profile", PROFILES)
def test_readings_sent_twice_change_nothing(profile: str, habits: str) -> None:
    run = play(profile, 2, HABITS[habits])
    twice = tuple(reading for reading in run.readings for _ in range(2))
    lines = [event_line(event) for event in run.said]
    assert [event_line(event) for event in said(profile, twice)] == lines


def test_time_that_runs_backwards_is_passed_over(clean: Played) -> None:
    jumpy = tuple(
        reading
        for i, shown in enumerate(clean.readings)
        for reading in (shown, *clean.readings[max(0, i - 3) : i])
    )
    assert_same_words(clean.said, said(clean.profile, jumpy))


@pytest.mark.parametrize("share", [0.3, 0.5, 0.8])
def test_a_longer_pause_in_a_rest_gives_the_same_verdicts(clean: Played, share: float) -> None:
    """The cook is called away for ten seconds: the last reading before it, again and again."""
    build = clean.truth[0]
    rests = [rest for rest in build.rests if rest.load_g > 0 and rest.end_s - rest.start_s > 1.5]
    rest = rests[int(share * len(rests))]
    place = bisect_right([reading.t for reading in clean.readings], rest.end_s - 0.3)
    last = clean.readings[place - 1]
    pause = tuple(replace(last, t=last.t + 0.1 * (i + 1)) for i in range(100))
    after = tuple(replace(reading, t=reading.t + 10.0) for reading in clean.readings[place:])
    paused = said(clean.profile, clean.readings[:place] + pause + after)
    assert_compatible_words(clean.said, paused)


def test_two_builds_in_a_row_are_each_as_if_alone(clean: Played) -> None:
    first, second = clean.truth
    # The pan is empty from lift to next bowl: the cut lies in the middle.
    cut_s = (first.lifted_s + second.placed_s) / 2
    place = bisect_right([reading.t for reading in clean.readings], cut_s)
    row = portions(clean.said)
    for number, part in ((1, clean.readings[:place]), (2, clean.readings[place:])):
        alone = said(clean.profile, part)
        in_row: list[Event] = [replace(word, build=1) for word in row if word.build == number]
        assert_compatible_words(alone, in_row)


def test_the_division_need_not_be_told(clean: Played) -> None:
    learnt = said(clean.profile, clean.readings, None)
    assert_compatible_words(clean.said, learnt)
