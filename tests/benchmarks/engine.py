"""This engine on a recording: its events, its rests, and when its live state shows a weight."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import inf
from typing import Final

from scaled.core.events import Event
from scaled.core.intake import Intake
from scaled.core.live import Live
from scaled.core.profile import BuildProfile
from scaled.core.reading import Reading
from scaled.core.rest import Phase
from scaled.core.session import Session
from scaled.core.settle import Settler
from tests.benchmarks.rests import Told, TrueRest

SHOWN_G: Final = 0.5
"""A shown weight this close to the final one, or one division, is the final one for a cook."""


@dataclass(frozen=True)
class Heard:
    """What the engine said of a recording.

    Attributes:
        events: All of them, in order.
        shown_s: For each rest with a step open, how long after the display stood still the live
            state began to show the step and the weight it showed at the rest's end.
    """

    events: list[Event]
    shown_s: list[float]


def hear(
    profile: BuildProfile,
    division_g: float,
    readings: Sequence[Reading],
    rests: Sequence[TrueRest],
) -> Heard:
    """Let the engine read a recording, and look at its live state during the rests."""
    session = Session(profile, division_g)
    events: list[Event] = []
    looks: list[Live] = []
    starts = [rest.start_s for rest in rests]
    for reading in readings:
        events += session.read(reading)
        place = bisect_right(starts, reading.t) - 1
        if place >= 0 and reading.t <= rests[place].end_s:
            live = session.live
            if live is not None:
                looks.append(live)
    events += session.close(readings[-1].t)
    return Heard(events, list(shown_since(looks, rests)))


def shown_since(looks: Sequence[Live], rests: Sequence[TrueRest]) -> Iterator[float]:
    """From a rest's stillness to the first look from which step and weight stay, s.

    Args:
        looks: Live states in order of time.
        rests: Those looked at; one in which no step is open at the end is passed over.
    """
    times = [look.t for look in looks]
    for rest in rests:
        seen = looks[bisect_left(times, rest.start_s) : bisect_right(times, rest.end_s)]
        if not seen or seen[-1].step is None:
            continue
        final, near_g = seen[-1], max(SHOWN_G, rest.division_g)
        since_s = final.t
        for look in reversed(seen):
            if look.step != final.step or abs(look.net_g - final.net_g) > near_g:
                break
            since_s = look.t
        yield since_s - rest.still_s


def settled_rests(readings: Sequence[Reading], division_g: float) -> list[Told]:
    """The rests the engine's session sees, from the parts it sees them with."""
    intake, settler = Intake(), Settler(division_g)
    told: list[Told] = []
    for reading in readings:
        weight_g = intake.read(reading)
        change = None if weight_g is None else settler.read(reading.t, weight_g, reading.stable)
        if change is None:
            continue
        phase, rest = change
        if phase is Phase.BEGAN:
            told.append(Told(reading.t, inf, rest.level_g, rest.level_g, rest.u_g, rest.u_g))
        elif phase in {Phase.REFINED, Phase.ENDED}:
            until_s = reading.t if phase is Phase.ENDED else inf
            told[-1] = replace(
                told[-1], until_s=until_s, booked_g=rest.level_g, booked_u_g=rest.u_g
            )
    return told
