"""A container that the hand still held when it was set down."""

from __future__ import annotations

import pytest

from scaled.catalogue import load_profile
from scaled.core import by_hand, set_down
from scaled.core.belief import Belief, empty
from scaled.core.events import OddContainer
from scaled.core.food import Change
from scaled.core.let_go import let_go
from scaled.core.plan import Plan
from scaled.core.rest import Rest
from scaled.core.shoulder import RISING
from scaled.core.track import Tracker
from tests.core.scripted import ALL_PASS, BOWL_G, CLEAN, Hire, dish

PLAN = Plan.of(dish())
HELD = set_down.started(empty(0.0, 0.1), Rest(0.0, 1.0, 14.0, 0.3), 4, None)


def meant(belief: Belief, weight_g: float = BOWL_G, pause_s: float = 0.6) -> list[Belief]:
    rest = Rest(2.0, 2.5, weight_g, 0.3, pause_s=pause_s)
    return [after for _, after, _ in let_go(belief, Change.of(belief, rest, least=1e-6), PLAN)]


@pytest.mark.parametrize("held_g", [6.0, 14.0, 30.0])
def test_the_container_weighs_what_it_is_shown_at_when_nobody_holds_it(held_g: float) -> None:
    held = set_down.started(empty(0.0, 0.1), Rest(0.0, 1.0, held_g, 0.3), 4, None)
    (after,) = meant(held)
    assert (after.tare_g, after.base_u_g, after.net_g) == (BOWL_G, 0.3, 0.0)
    assert after.weighed


def test_nobody_holds_it_for_long() -> None:
    rests = [Rest(2.0, 2.5, BOWL_G, 0.3, pause_s=pause_s) for pause_s in (0.5, 1.0, 2.0)]
    densities = [next(let_go(HELD, Change.of(HELD, rest), PLAN))[0] for rest in rests]
    assert densities[0] > 2 * densities[1] > 8 * densities[2] > 0
    assert meant(HELD, pause_s=20.0) == []


@pytest.mark.parametrize(
    "belief",
    [HELD._replace(gestures=1), by_hand.closed(HELD)],
    ids=["with food in it", "after a step"],
)
def test_a_build_that_was_begun_is_held_by_nobody(belief: Belief) -> None:
    assert meant(belief) == []


def test_what_is_no_containers_weight_is_something_else() -> None:
    assert meant(HELD, 900.0) == []


@pytest.mark.parametrize("held_g", [8.0, 14.0, 28.0, 45.0])
def test_what_the_hand_carried_is_neither_food_nor_another_container(
    cook: Hire, held_g: float
) -> None:
    one = cook().wait(2.0).put(held_g, pause_s=0.6).put(BOWL_G - held_g, in_s=0.2)
    assert one.live.step == "grain"
    assert one.live.net_g == pytest.approx(0.0, abs=0.5)
    for gestures in CLEAN:
        one.put(*gestures).wait(1.0)
    one.lift(off_s=4.0)
    assert one.verdicts() == ALL_PASS
    assert one.portion("grain").net_g == pytest.approx(120.0, abs=1.0)
    assert one.told(OddContainer) == []
    assert all(live.odd is None for live in one.lives)


def test_a_heavy_container_that_bounces_is_not_weighed_at_its_bounce() -> None:
    now = Tracker(Plan.of(load_profile("winter-barley-bowl")))
    for t, level_g, u_g, settled in (
        (1.0, 0.0, 0.1, True), (4.0, 478.7, 10.7, False), (4.5, 508.0, 8.1, False),
        (5.2, 520.6, 0.1, True),
    ):  # fmt: skip
        doubt = 0.0 if settled else RISING
        now.advance(Rest(t, t + 0.3, level_g, u_g, 0.3, settled=settled, doubt=doubt))
    best = now.beliefs[0][1]
    assert best.tare_g == pytest.approx(520.6)
    assert best.gestures == 0


def test_a_wrong_container_that_is_taken_off_at_once_is_not_told(cook: Hire) -> None:
    one = cook().wait(2.0).put(60.0, pause_s=0.7)
    one.lift(off_s=4.0)
    assert one.told(OddContainer) == []
