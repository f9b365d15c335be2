"""Whatever a scale and a person send: no crash, sound numbers, and a state that does not grow."""

from __future__ import annotations

import math
import pickle
from contextlib import suppress
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scaled.core.command import Command, Confirm, Next, Note, Undo
from scaled.core.errors import CommandRefused
from scaled.core.event_line import event_fields
from scaled.core.events import Event
from scaled.core.reading import Reading, Unit
from scaled.core.session import Session
from tests.core.conftest import check_live
from tests.core.played import Played, play
from tests.core.scripted import BOWL_G, dish

LARGEST = 1.7976931348623157e308
SMALLEST = 5e-324

weights = st.one_of(
    st.sampled_from([0.0, BOWL_G, BOWL_G + 120.0, BOWL_G + 180.0, BOWL_G + 222.0]),
    st.integers(-500, 500).map(float),
    st.sampled_from([-0.0, LARGEST, -LARGEST, 1e308, -1e308, SMALLEST, -SMALLEST, 1e5, -99_999.9]),
    st.floats(),
)
gaps_s = st.one_of(
    st.sampled_from([0.05, 0.1, 0.1, 0.2]),
    st.floats(0.0, 1.0),
    st.sampled_from([SMALLEST, 1e-300, 1e-9, 1e3, 1e9, 1e300, math.inf, math.nan, -1.0]),
)
commands: st.SearchStrategy[Command | None] = st.one_of(
    st.none(), st.sampled_from([Next(), Undo(), Confirm("lid"), Confirm("no such"), Note("!")])
)
stretches = st.lists(st.tuples(weights, gaps_s, st.integers(1, 12), commands), max_size=12)
"""A weight shown again and again, so long apart, and perhaps a command: rests and nonsense."""


@given(
    stretches,
    st.sampled_from([0.0, 1e9, -1e308, 1e17]),
    st.sampled_from([None, 1e-9, 0.1, 1.0, 5.0, 1e12]),
    st.sampled_from([None, *Unit]),
)
@settings(max_examples=80)
def test_whatever_comes_the_numbers_are_sound(
    stream: list[tuple[float, float, int, Command | None]],
    start_s: float,
    division_g: float | None,
    unit: Unit | None,
) -> None:
    session, t = Session(dish(), division_g), start_s
    told: list[Event] = []
    for weight, gap_s, times, command in stream:
        for _ in range(times):
            t += gap_s
            told += session.read(Reading(t, weight, unit))
            chances = [chance for chance, _ in session._tracker.beliefs]
            assert not chances or sum(chances) == pytest.approx(1.0)
            if session.live is not None:
                check_live(session.live)
        if command is not None and session.live is not None:
            with suppress(CommandRefused):
                told += session.command(command, session.live.t)
    if session.live is not None:
        told += session.close(session.live.t)
    for event in told:
        numbers = [v for v in event_fields(event).values() if isinstance(v, float)]
        assert all(map(math.isfinite, numbers))


# A state that does not grow.


def size(session: Session) -> int:
    """All that a session knows, in bytes."""
    return len(pickle.dumps(session))


@pytest.mark.parametrize("gap_s", [1.0, 0.05, 0.001, 1e-9])
def test_readings_without_end_take_no_more_room_than_the_first(gap_s: float) -> None:
    """At rest, in a flood, or seldom."""
    session = Session(dish(), None)
    sizes = []
    for count in range(1600):
        session.read(Reading(count * gap_s, BOWL_G + count % 2, Unit.G))
        if count in {1100, 1599}:
            sizes.append(size(session))
    assert sizes[1] <= sizes[0] + 500


@pytest.mark.parametrize("habits", ["clean", "messy"])
def test_the_hundredth_build_takes_no_more_room_than_the_first(habits: str) -> None:
    run: Played = play("orchard-oat-pot", 1, habits)
    session, sizes = run.session(), []
    span_s = run.readings[-1].t + 5.0
    for again in range(50):
        for reading in run.readings:
            session.read(replace(reading, t=reading.t + again * span_s))
        sizes.append(size(session))
    assert session.build >= 90
    assert max(sizes[10:]) <= 1.2 * max(sizes[:10])
