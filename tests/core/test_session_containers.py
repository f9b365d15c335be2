"""The right container, an accepted one, a wrong one, and what only looks like one."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from scaled.core.command import Next
from scaled.core.events import BuildStarted, OddContainer, Returned
from scaled.core.live import Ask, Odd
from tests.core.scripted import ALL_PASS, BOWL_G, CLEAN, GRAIN, assert_never_wrong
from tests.core.scripted_scale import Scale
from tests.core.test_container import STEEL, STONE, kitchen

if TYPE_CHECKING:
    from tests.core.scripted import Cook, Hire


def serve(cook: Cook, bowl_g: float) -> Cook:
    """A clean build in a bowl of that weight."""
    cook.wait(2.0).put(bowl_g).wait(2.0)
    for gestures in CLEAN:
        cook.put(*gestures).wait(1.0)
    cook.lift(off_s=4.0)
    return cook


def test_the_profiles_own_container_is_named_when_the_build_starts(cook: Hire) -> None:
    (started,) = serve(cook(), BOWL_G).told(BuildStarted)
    assert started.container == "bowl"
    assert started.confidence is not None
    assert started.confidence > 0.98


def test_an_accepted_container_is_named_and_no_word_is_said_against_it(cook: Hire) -> None:
    one = serve(cook(kitchen(STEEL, STONE)), 309.0)
    (started,) = one.told(BuildStarted)
    assert started.container == "stoneware"
    assert one.told(OddContainer) == []
    assert one.live.odd is None
    assert one.verdicts() == ALL_PASS


def test_a_wrong_container_is_named_at_once(cook: Hire) -> None:
    one = cook(kitchen(STEEL, STONE)).wait(2.0).put(50.0)
    (odd,) = one.told(OddContainer)
    assert (odd.container, odd.expected) == ("steel dish", "bowl")
    assert odd.tare_g == pytest.approx(50.0, abs=0.5)
    assert odd.expected_g == BOWL_G
    assert one.live.odd == Odd("steel dish", odd.tare_g)
    assert one.live.ask is Ask.ADD


def test_a_wrong_container_taken_for_the_right_one_ends_the_warning(cook: Hire) -> None:
    one = cook(kitchen(STEEL)).wait(2.0).put(50.0).wait(1.0)
    one.lift()
    assert one.live.odd is None or one.live.ask is Ask.RETURN
    serve(one, BOWL_G)
    assert one.live.odd is None
    assert one.verdicts(build=2) == ALL_PASS
    assert len(one.told(OddContainer)) == 1


@pytest.mark.parametrize("bowl_g", [30.0, 40.0, 50.0, 60.0, 80.0, 100.0])
def test_a_wrong_container_that_could_hold_the_first_scoop_is_known_when_the_profile_names_it(
    cook: Hire, bowl_g: float
) -> None:
    one = serve(cook(kitchen(("other", bowl_g, False))), bowl_g)
    (odd,) = one.told(OddContainer)
    assert odd.container == "other"
    assert one.verdicts() == ALL_PASS


def test_a_wrong_container_that_shows_only_later_is_told_then(cook: Hire) -> None:
    """36 g may be the bowl with a little in it, until three whole scoops have followed."""
    one = cook().wait(2.0).put(36.0).wait(2.0)
    assert one.told(OddContainer) == []
    for gestures in CLEAN:
        one.put(*gestures).wait(1.0)
    (odd,) = one.told(OddContainer)
    assert odd.container is None
    assert odd.tare_g == pytest.approx(36.0, abs=0.5)
    one.lift(off_s=4.0)
    assert_never_wrong(one, {})


def test_food_set_down_with_an_accepted_container_is_judged_in_it(cook: Hire) -> None:
    one = cook(kitchen(STONE)).wait(2.0).put(310.0 + 40.0).wait(2.0).put(41.0, 39.0).wait(1.0)
    for gestures in CLEAN[1:]:
        one.put(*gestures).wait(1.0)
    one.lift(off_s=4.0)
    (started,) = one.told(BuildStarted)
    assert (started.tare_g, started.container, started.confidence) == (None, None, None)
    assert one.told(OddContainer) == []
    assert_never_wrong(one, {})


@pytest.mark.parametrize("bowl_g", [35.0, 50.0, 65.0, 100.0, 150.0])
def test_who_was_asked_for_an_empty_container_has_set_down_an_empty_one(
    cook: Hire, bowl_g: float
) -> None:
    one = cook().wait(2.0).put(bowl_g, pause_s=3.0)
    assert (one.live.ask, one.live.step, one.live.odd) == (Ask.ADD, "grain", Odd(None, bowl_g))
    one.put(*GRAIN)
    assert (one.live.ask, one.live.step) == (Ask.NEXT, "grain")
    assert one.live.net_g == pytest.approx(120.0, abs=1.0)
    for gestures in CLEAN[1:]:
        one.put(*gestures).wait(1.0)
    assert one.live.ask is Ask.LIFT
    one.lift(off_s=4.0)
    assert_never_wrong(one)


@pytest.mark.parametrize("cloth_g", [18.0, 20.0, 22.0])
def test_what_lay_on_the_pan_before_is_not_taken_for_the_container(
    cook: Hire, cloth_g: float
) -> None:
    one = cook(scale=Scale(load_g=cloth_g)).wait(3.0).put(BOWL_G)
    for gestures in CLEAN:
        one.put(*gestures).wait(1.0)
    one.put(cloth_g - one.scale.load_g, pause_s=4.0)
    assert one.verdicts() == ALL_PASS
    assert len(one.told(BuildStarted)) == 1


@pytest.mark.parametrize("bowl_g", [BOWL_G, 310.0])
def test_a_container_that_stood_there_before_begins_with_its_first_food(
    cook: Hire, bowl_g: float
) -> None:
    one = cook(kitchen(STONE), Scale(load_g=bowl_g)).wait(3.0)
    assert one.live.ask is Ask.ADD
    assert one.told(BuildStarted) == []
    for gestures in CLEAN:
        one.put(*gestures).wait(1.0)
    one.lift(off_s=4.0)
    (started,) = one.told(BuildStarted)
    assert started.tare_g == pytest.approx(bowl_g, abs=0.5)
    assert one.verdicts() == ALL_PASS


def test_a_key_begins_the_build_that_stood_there_before(cook: Hire) -> None:
    one = cook(scale=Scale(load_g=BOWL_G)).wait(3.0)
    told = one.tell(Next())
    assert [(event.event, event.build) for event in told] == [
        ("build_started", 1), ("tapped", 1), ("portion", 1),
    ]  # fmt: skip
    one.put(60.0).wait(1.0)
    assert one.live.step == "beans"


def test_a_build_tipped_over_into_another_right_container_goes_on(cook: Hire) -> None:
    one = cook(kitchen(STONE)).start().put(*GRAIN).wait(1.0).put(60.0)
    one.put(one.lift() + 310.0 - BOWL_G)
    (returned,) = one.told(Returned)
    assert returned.net_g == pytest.approx(180.0, abs=1.5)
    assert returned.change_g == pytest.approx(0.0, abs=1.5)
    one.put(30.0).wait(1.0).put(12.0)
    one.lift(off_s=4.0)
    assert one.verdicts() == ALL_PASS
    assert one.session.build == 1
