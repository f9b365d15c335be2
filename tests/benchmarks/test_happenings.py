from __future__ import annotations

import pytest

from scaled.core.events import BuildStarted, Event, Lifted, Returned, Rezeroed
from simulators.truth import Disturbance, DisturbanceKind, PortionTruth
from tests.benchmarks.happenings import Fate, Happening, fates, uncaused
from tests.benchmarks.made_run import made_run
from tests.benchmarks.score import StepScore

LIFT = Disturbance(DisturbanceKind.LIFT, 20.0, 23.0)
TARE = Disturbance(DisturbanceKind.TARE_KEY, 30.0, 30.0)
RUN = made_run(
    [(0.0, 10.0, 0.0), (60.0, 70.0, 0.0)],
    disturbances=[LIFT, TARE],
    zeros_g=[(0.0, 0.0), (29.9, 0.0), (30.0, -80.0), (90.0, -80.0)],
    portions=[
        PortionTruth("grain", 100.0, 12.0, 14.0, 0),
        PortionTruth("sauce", 50.0, 25.0, 26.0, 1),
        PortionTruth("seeds", 10.0, 35.0, 36.0, 2),
    ],
    placed_s=10.0,
)
STARTED = BuildStarted(t=11.0, build=1, tare_g=20.0, u_g=0.3)
LIFTED = Lifted(t=21.0, build=1, net_g=100.0)
RETURNED = Returned(t=24.0, build=1, net_g=100.0, change_g=0.0)
REZEROED = Rezeroed(t=30.4, build=1, shift_g=-80.0)
ALL: list[Event] = [STARTED, LIFTED, RETURNED, REZEROED]


def scores(**outcomes: str) -> list[StepScore]:
    return [
        StepScore(outcomes.get(step, "right"), 1, step, 0.0, None)
        for step in ("grain", "sauce", "seeds")
    ]


def test_each_is_recognised_by_its_own_event() -> None:
    assert fates(RUN, ALL, scores()) == dict.fromkeys(
        [(kind, Fate.RECOGNISED) for kind in Happening], 1
    )
    assert uncaused(RUN, ALL) == 0


@pytest.mark.parametrize("missing", [LIFTED, RETURNED])
def test_a_lift_needs_both_its_events(missing: Event) -> None:
    told = [event for event in ALL if event is not missing]
    assert fates(RUN, told, scores())[Happening.LIFT, Fate.HARMLESS] == 1


@pytest.mark.parametrize(
    ("bad", "fate"),
    [
        ({"grain": "wrong weight"}, Fate.HARMLESS),
        ({"sauce": "wrong weight"}, Fate.OVERLOOKED),
        ({"sauce": "unsure"}, Fate.HARMLESS),
        ({"seeds": "missed"}, Fate.OVERLOOKED),
    ],
)
def test_what_is_not_recognised_is_judged_by_its_neighbours(
    bad: dict[str, str], fate: Fate
) -> None:
    assert fates(RUN, ALL[:3], scores(**bad))[Happening.TARE_KEY, fate] == 1


def test_too_late_is_not_recognised() -> None:
    late = Rezeroed(t=35.1, build=1, shift_g=-80.0)
    assert fates(RUN, [*ALL[:3], late], scores())[Happening.TARE_KEY, Fate.HARMLESS] == 1
    assert uncaused(RUN, [late]) == 1


def test_a_key_that_moved_nothing_is_not_asked_for() -> None:
    idle = made_run([(0.0, 10.0, 0.0)], disturbances=[TARE])
    assert not any(kind is Happening.TARE_KEY for kind, _ in fates(idle, [], []))


def test_the_last_lift_has_a_cause_and_a_lift_out_of_the_blue_has_none() -> None:
    assert uncaused(RUN, [Lifted(t=61.0, build=1, net_g=160.0)]) == 0
    assert uncaused(RUN, [Lifted(t=45.0, build=1, net_g=160.0)]) == 1
