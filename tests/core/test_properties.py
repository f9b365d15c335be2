"""Whole simulated builds: what must not change what is said of them, drawn by chance."""

from __future__ import annotations

import pickle
from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import replace
from itertools import accumulate, chain

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from scaled.catalogue import load_profile
from scaled.core.event_line import event_line
from scaled.core.events import Event, UnitChanged
from scaled.core.reading import GRAMS, Reading, Unit
from tests.core.played import (
    BUILDS,
    DIVISION_G,
    HABITS,
    PROFILES,
    SEEDS,
    Played,
    assert_compatible_words,
    assert_same_words,
    play,
    portions,
    said,
)

some = settings(max_examples=12)
clean = st.builds(play, st.sampled_from(PROFILES), st.sampled_from(SEEDS))
runs = st.builds(
    play, st.sampled_from(PROFILES), st.sampled_from(SEEDS), st.sampled_from(sorted(HABITS))
)
places = st.floats(0, 1, exclude_max=True)
"""Somewhere in a run, as a share of its readings."""


def lines(events: list[Event]) -> list[str]:
    return [event_line(event) for event in events]


def numbered(number: int, told: Iterable[Event], build: int) -> list[Event]:
    """The final words on one build, as if it had that number."""
    return [replace(word, build=number) for word in portions(told) if word.build == build]


def at(run: Played, place: float) -> int:
    return int(place * len(run.readings))


# The session itself.


@some
@given(runs, st.lists(places, max_size=4))
def test_a_session_stored_and_fetched_anywhere_goes_on_the_same(
    run: Played, stops: list[float]
) -> None:
    """All that a session knows is in it, and looking at its live state leaves no trace."""
    cuts = {at(run, stop) for stop in stops}
    session = run.session()
    told: list[Event] = []
    for place, reading in enumerate(run.readings):
        told += session.read(reading)
        if place in cuts:
            assert session.live is not None
            session = pickle.loads(pickle.dumps(session))  # noqa: S301 -- made just now
    told += session.close(run.readings[-1].t)
    assert lines(told) == lines(run.said)


@some
@given(runs)
def test_probability_sums_to_one_after_every_reading(run: Played) -> None:
    session = run.session()
    for reading in run.readings:
        session.read(reading)
        chances = [chance for chance, _ in session._tracker.beliefs]
        assert not chances or sum(chances) == pytest.approx(1.0, abs=1e-12)
        assert session.live is not None
        assert 0.0 <= session.live.confidence <= 1.0 + 1e-9


# The display.


@some
@given(clean, st.integers(-4000, 4000))
def test_where_the_scale_shows_zero_changes_nothing(run: Played, divisions: int) -> None:
    offset_g = divisions * DIVISION_G
    # Offset by just a container's weight, an empty scale shows a container that stood there.
    assume(abs(offset_g - load_profile(run.profile).container.tare_g) > 15)
    moved = [replace(reading, weight=reading.weight + offset_g) for reading in run.readings]
    assert_same_words(run.said, said(run.profile, moved))


@some
@given(clean, places)
def test_the_unit_may_change_at_any_reading(run: Played, place: float) -> None:
    cut = at(run, place)
    kilograms = [
        replace(reading, weight=reading.weight / 1000, unit=Unit.KG)
        for reading in run.readings[cut:]
    ]
    told = said(run.profile, [*run.readings[:cut], *kilograms])
    assert_same_words(run.said, told)
    changes = [event.unit for event in told if isinstance(event, UnitChanged)]
    assert changes == ([Unit.KG] if cut else [])


@some
@given(clean)
def test_readings_without_a_unit_are_grams_until_one_has_a_unit(run: Played) -> None:
    bare = [replace(reading, unit=None) for reading in run.readings]
    assert_same_words(run.said, said(run.profile, bare))


@some
@given(clean)
def test_ounces_on_a_fine_scale_tell_the_same(run: Played) -> None:
    division_oz = 0.02
    ounces = [
        replace(
            reading,
            weight=round(reading.weight / GRAMS[Unit.OZ] / division_oz) * division_oz,
            unit=Unit.OZ,
        )
        for reading in run.readings
    ]
    in_ounces = said(run.profile, ounces, division_oz * GRAMS[Unit.OZ])
    assert_compatible_words(run.said, in_ounces)


@some
@given(clean)
def test_the_division_need_not_be_told(run: Played) -> None:
    assert_compatible_words(run.said, said(run.profile, run.readings, None))


# The line.


@some
@given(runs, st.data())
def test_readings_sent_again_change_nothing(run: Played, data: st.DataObject) -> None:
    """At once, or later when their time is past."""
    late = data.draw(st.integers(0, 3))
    again = data.draw(st.lists(st.booleans(), min_size=7, max_size=7).filter(any))
    sent = [
        each
        for place, reading in enumerate(run.readings)
        for each in (reading, *run.readings[place - late : place + 1])
        if each is reading or again[place % len(again)]
    ]
    assert lines(said(run.profile, sent)) == lines(run.said)


# The time.


@some
@given(clean, st.floats(1.0, 1e6))
def test_what_time_it_is_does_not_matter(run: Played, later_s: float) -> None:
    # Not to the milligram: a reading on the edge of a time span may round to its other side.
    later = [replace(reading, t=reading.t + later_s) for reading in run.readings]
    assert_compatible_words(run.said, said(run.profile, later))


@some
@given(clean, places, st.integers(1, 600))
def test_a_longer_pause_at_rest_gives_the_same_words(
    run: Played, place: float, for_s: int
) -> None:
    """The cook is called away: the last reading before it, again and again."""
    rests = [r for r in run.truth[0].rests if r.load_g > 0 and r.end_s - r.start_s > 1.5]
    rest = rests[int(place * len(rests))]
    cut = bisect_right([reading.t for reading in run.readings], rest.end_s - 0.3)
    last = run.readings[cut - 1]
    pause = [replace(last, t=last.t + 0.1 * (i + 1)) for i in range(10 * for_s)]
    after = [replace(reading, t=reading.t + for_s) for reading in run.readings[cut:]]
    assert_compatible_words(run.said, said(run.profile, [*run.readings[:cut], *pause, *after]))


@some
@given(clean, places)
def test_a_stream_that_begins_anywhere_tells_later_builds_the_same(
    run: Played, place: float
) -> None:
    first, second = run.truth
    empty_s = place * (first.lifted_s + second.placed_s) / 2
    cut = bisect_right([reading.t for reading in run.readings], empty_s)
    told = portions(said(run.profile, run.readings[cut:]))
    assert_compatible_words(
        numbered(0, run.said, BUILDS), numbered(0, told, max(word.build for word in told))
    )


# Builds in a row.


def alone(run: Played) -> list[tuple[Reading, ...]]:
    """The readings of each build, cut where the pan is empty, from time zero."""
    times = [reading.t for reading in run.readings]
    first, second = run.truth
    cut = bisect_right(times, (first.lifted_s + second.placed_s) / 2)
    return [run.readings[:cut], run.readings[cut:]]


@some
@given(st.sampled_from(PROFILES), st.permutations(range(2 * BUILDS)))
def test_builds_in_another_order_are_told_in_that_order(profile: str, order: list[int]) -> None:
    pool = [part for seed in SEEDS for part in alone(play(profile, seed))]
    words = [said(profile, part) for part in pool]
    spans = [pool[i][-1].t - pool[i][0].t + 0.1 for i in order]
    starts = accumulate(spans, initial=0.0)
    row = [
        [replace(reading, t=start_s + reading.t - pool[i][0].t) for reading in pool[i]]
        for i, start_s in zip(order, starts, strict=False)
    ]
    wanted = [word for n, i in enumerate(order, 1) for word in numbered(n, words[i], 1)]
    assert_compatible_words(wanted, said(profile, chain.from_iterable(row)))
