"""A build that was told to have left is told to be back, though no single rest told."""

from __future__ import annotations

import pytest

from scaled.core.belief import Belief, empty
from scaled.core.events import BuildStarted, Event, Finished, Lifted, Returned, Verdict
from scaled.core.plan import Plan
from scaled.core.rest import Rest
from scaled.core.set_down import started
from scaled.core.track import Tracker
from scaled.core.whereabouts import Whereabouts
from tests.core.scripted import BOWL_G, dish

PLAN = Plan.of(dish())
AT = (9.5, 2)
NEXT = started(empty(0.0, 0.1), Rest(0.0, 1.0, BOWL_G, 0.3), 4, None)
BACK = NEXT.at(BOWL_G + 42.0, 0.3)._replace(gestures=1, fresh=False)
OFF = BACK.lifted(0.0)
LIFTED = Lifted(t=5.0, build=2, net_g=40.0)
RETURNED = Returned(t=9.5, build=2, net_g=42.0, change_g=2.0)


def now(*beliefs: tuple[float, Belief]) -> Tracker:
    tracker = Tracker(PLAN)
    tracker.beliefs = beliefs
    return tracker


def left() -> Whereabouts:
    one = Whereabouts()
    assert one.follow([LIFTED], now((1.0, OFF)), AT) == []
    return one


def test_it_is_back_once_that_is_sure_and_told_once() -> None:
    one = left()
    assert one.follow([], now((0.6, BACK), (0.4, OFF)), AT) == []
    assert one.follow([], now((0.95, BACK), (0.05, OFF)), AT) == [RETURNED]
    assert one.follow([], now((1.0, BACK)), AT) == []


def test_the_next_container_is_not_the_build_that_left() -> None:
    assert left().follow([], now((1.0, NEXT)), AT) == []


@pytest.mark.parametrize(
    "event",
    [
        RETURNED,
        BuildStarted(t=9.5, build=3, tare_g=20.0, u_g=0.3),
        Finished(
            t=9.5, build=2, net_g=42.0, u_g=0.3, verdict=Verdict.PASS, confidence=1.0,
            duration_s=9.0,
        ),
    ],
)  # fmt: skip
def test_what_ends_its_absence_is_told_by_itself(event: Event) -> None:
    assert left().follow([event], now((1.0, BACK)), AT) == []


def test_a_build_that_never_left_is_not_back() -> None:
    assert Whereabouts().follow([], now((1.0, BACK)), AT) == []
