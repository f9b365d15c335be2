"""A build that goes from one scale to the next, as two sessions see it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import pytest

from scaled.core.coming import AWAITED_S, MOST
from scaled.core.command import Collect, Confirm, Expect, Forget, Next, Undo
from scaled.core.errors import CommandRefused
from scaled.core.events import BuildStarted, Finished, OddContainer, Portion, Verdict
from scaled.core.handoff_events import (
    Collected,
    Expected,
    Forgotten,
    HandedOver,
    TakenOver,
    command_behind,
)
from scaled.core.live import Ask, StepState
from scaled.core.reading import Unit
from tests.core.scripted import ALL_PASS, BOWL_G, CLEAN, GRAIN, STEPS, TRUTH
from tests.core.scripted_line import Line, dish_of_the_line
from tests.core.scripted_scale import Scale

if TYPE_CHECKING:
    from scaled.core.command import Command
    from tests.core.scripted import Cook

HOT, COLD, PASS = "hot line", "cold line", "pass"
HALF_G = BOWL_G + 180.0
"""The bowl with all that the hot line does."""


def line(scale: Scale | None = None, *, posted: bool = True) -> Line:
    """Two scales, both empty; the second one as given."""
    made = Line({HOT: Scale(), COLD: scale or Scale(seed=1)}, posted=posted)
    made.cooks[COLD].wait(3.0)
    made.cooks[HOT].wait(2.0)
    return made


def hot(one: Line, grain: tuple[float, ...] = GRAIN, beans_g: float = 60.0) -> Cook:
    """A new bowl and what the hot line does."""
    cook = one.set_down(HOT, BOWL_G)
    return cook.put(*grain).wait(1.0).put(beans_g).wait(1.0)


def cold(one: Line) -> Cook:
    """What the cold line does with the bowl on its scale."""
    cook = one.cooks[COLD].put(30.0).wait(1.0).put(12.0).wait(1.0)
    one.lift(COLD)
    return cook.wait(3.0)


def words(one: Line) -> dict[str, list[str]]:
    """Verdicts by step, whoever said them."""
    said = [word for cook in one.cooks.values() for word in cook.told(Portion)]
    return {step: [str(w.verdict) for w in said if w.step == step] for step in STEPS}


def once(verdicts: dict[str, str]) -> dict[str, list[str]]:
    return {step: [verdict] for step, verdict in verdicts.items()}


# One build.


@pytest.mark.parametrize("posted", [True, False])
def test_a_build_goes_on_where_it_was_left(posted: bool) -> None:
    one = line(posted=posted)
    hot(one)
    one.set_down(COLD, one.lift(HOT))
    cold(one)
    giver, taker = one.cooks.values()
    assert words(one) == once(ALL_PASS)
    assert [w.step for w in giver.told(Portion)] == ["grain", "beans"]
    assert [w.step for w in taker.told(Portion)] == ["sauce", "seeds"]
    assert giver.told(Finished) == []
    (handed,) = giver.told(HandedOver)
    assert handed.build == 1
    assert handed.net_g == pytest.approx(180.0, abs=0.5)
    (taken,) = taker.told(TakenOver)
    assert (taken.origin, taken.became) == ("hot line/1", 1)
    finished = taker.finished()
    assert finished.verdict is Verdict.PASS
    assert finished.net_g == pytest.approx(222.0, abs=1.0)
    assert finished.duration_s > 14.0  # the hot line's part counts
    assert taker.told(OddContainer) == []


def test_the_next_scale_shows_what_was_done_before_it() -> None:
    one = line()
    hot(one)
    one.set_down(COLD, one.lift(HOT))
    now = one.cooks[COLD].live
    assert (now.build, now.step) == (1, "sauce")
    assert [rung.state for rung in now.ladder[:2]] == [StepState.DONE, StepState.DONE]
    assert [rung.net_g for rung in now.ladder[:2]] == pytest.approx([120.0, 60.0], abs=0.1)
    assert now.total_net_g == pytest.approx(180.0, abs=0.5)


def asked(cook: Cook) -> Ask:
    return cook.live.ask


def test_the_first_scale_asks_to_pass_it_on_and_then_for_the_next_container() -> None:
    one = line()
    giver = one.set_down(HOT, BOWL_G).put(*GRAIN).wait(1.0)
    assert asked(giver) is Ask.NEXT
    giver.put(60.0).wait(1.0)
    assert asked(giver) is Ask.HAND_OVER
    assert giver.live.next_step == "sauce"
    one.lift(HOT)
    assert asked(giver) is Ask.PLACE


def test_a_scale_that_stands_for_all_asks_for_the_next_step_and_the_bowl_back() -> None:
    one = line(posted=False)
    giver = hot(one)
    assert asked(giver) is Ask.NEXT
    one.lift(HOT)
    assert asked(giver) is Ask.RETURN


def test_a_key_can_say_that_the_part_of_this_scale_is_done() -> None:
    one = line()
    giver = one.set_down(HOT, BOWL_G).put(*GRAIN).wait(1.0).put(50.0).wait(1.0)
    assert asked(giver) is Ask.ADD
    giver.tell(Next())
    assert asked(giver) is Ask.HAND_OVER
    one.set_down(COLD, one.lift(HOT))
    cold(one)
    assert words(one) == once(ALL_PASS | {"beans": "under"})


def test_what_two_scales_differ_by_is_no_food() -> None:
    one = line(Scale(seed=2, gain=1.006, noise_g=0.3, division=0.5))
    hot(one)
    one.set_down(COLD, one.lift(HOT))
    taker = cold(one)
    assert words(one) == once(ALL_PASS)
    assert taker.portion("sauce").net_g == pytest.approx(30.0 * 1.006, abs=1.0)
    assert taker.finished().net_g == pytest.approx(180.0 + 42.0 * 1.006, abs=1.0)


@pytest.mark.parametrize("seed", range(3))
def test_a_build_is_recognised_on_a_scale_in_ounces_that_is_not_at_zero(seed: int) -> None:
    one = line(Scale(division=0.05, unit=Unit.OZ, offset_g=7.0, noise_g=0.4, seed=seed))
    hot(one)
    one.set_down(COLD, one.lift(HOT))
    cold(one)
    assert words(one) == once(ALL_PASS)


def test_a_step_begun_on_one_scale_is_finished_on_the_next() -> None:
    one = line()
    one.set_down(HOT, BOWL_G).put(*GRAIN).wait(1.0).put(35.0).wait(1.0)
    one.set_down(COLD, one.lift(HOT))
    one.cooks[COLD].put(25.0).wait(1.0)
    cold(one)
    giver, taker = one.cooks.values()
    assert [w.step for w in giver.told(Portion)] == ["grain"]
    assert taker.portion("beans").net_g == pytest.approx(60.0, abs=1.0)
    assert words(one) == once(ALL_PASS)


def test_too_much_is_judged_where_it_was_added() -> None:
    one = line()
    hot(one, beans_g=69.0)
    one.set_down(COLD, one.lift(HOT))
    cold(one)
    assert one.cooks[HOT].portion("beans").verdict is Verdict.OVER
    assert words(one) == once(ALL_PASS | {"beans": "over"})


def test_a_step_that_was_left_out_is_asked_for_and_missed_on_the_next_scale() -> None:
    one = line()
    one.set_down(HOT, BOWL_G).put(*GRAIN).wait(1.0)
    one.set_down(COLD, one.lift(HOT))
    assert one.cooks[COLD].live.step == "beans"
    taker = cold(one).close()
    assert taker.portion("beans").skipped or taker.portion("beans").verdict is Verdict.UNSURE
    assert words(one)["grain"] == ["pass"]


def test_food_added_on_the_way_is_the_next_step() -> None:
    one = line()
    hot(one)
    one.set_down(COLD, one.lift(HOT) + 30.0).put(12.0).wait(1.0)
    one.lift(COLD)
    one.cooks[COLD].wait(3.0)
    assert words(one) == once(ALL_PASS)


@pytest.mark.parametrize("lost_g", [8.0, 16.0, 25.0, 40.0, 60.0, 90.0, -20.0])
def test_food_lost_or_something_added_on_the_way_makes_nothing_wrong(lost_g: float) -> None:
    one = line()
    hot(one)
    one.set_down(COLD, one.lift(HOT) - lost_g)
    taker = cold(one)
    taker.wait(12.0)  # the screen may ask for it back
    one.cooks[HOT].close()
    truth = TRUTH | {"beans": 60.0}
    for word in taker.told(Portion):
        if word.verdict is not Verdict.UNSURE:
            assert word.net_g == pytest.approx(truth[word.step], abs=2.0)
    assert taker.finished().verdict is not Verdict.PASS


def test_checks_answered_on_one_scale_are_answered_on_the_next() -> None:
    one = line()
    hot(one).tell(Confirm("lid"))
    one.set_down(COLD, one.lift(HOT))
    assert one.cooks[COLD].live.confirms == ("label",)


def test_a_key_does_not_take_back_what_another_scale_said() -> None:
    one = line()
    hot(one)
    taker = one.set_down(COLD, one.lift(HOT))
    with pytest.raises(CommandRefused, match="no step of this build is done yet"):
        taker.tell(Undo())
    taker.put(30.0).wait(1.0)
    taker.tell(Next())
    assert taker.portion("sauce").verdict is Verdict.PASS


def test_a_step_that_nobody_judged_before_is_judged_on_arrival_and_stays_closed() -> None:
    one = line()
    bare = replace(sent(one).transit, said=())
    load_g = BOWL_G + 180.0
    taker = one.cooks[COLD]
    taker.tell(Expect(bare))
    taker.put(load_g).wait(1.0)
    assert [(word.step, word.verdict) for word in taker.told(Portion)] == [
        ("grain", "pass"), ("beans", "pass"),
    ]  # fmt: skip
    with pytest.raises(CommandRefused, match="no step of this build is done yet"):
        taker.tell(Undo())


def test_a_build_that_stands_there_before_the_first_reading_is_recognised() -> None:
    one = Line({HOT: Scale(), COLD: Scale(load_g=HALF_G)})
    one.cooks[HOT].wait(2.0)
    hot(one)
    one.lift(HOT)
    one.cooks[COLD].wait(2.0)
    cold(one)
    assert words(one) == once(ALL_PASS)


# A new container, and several builds.


def test_an_empty_container_is_not_the_build_that_is_expected() -> None:
    one = line()
    hot(one)
    load_g = one.lift(HOT)
    taker = one.set_down(COLD, BOWL_G)
    assert taker.told(TakenOver) == []
    assert taker.told(BuildStarted)[0].tare_g == pytest.approx(BOWL_G, abs=0.5)
    assert taker.live.step == "grain"
    one.lift(COLD)
    one.set_down(COLD, load_g)
    cold(one)
    assert words(one) == once(ALL_PASS)


def test_the_cook_goes_on_with_the_next_bowl_while_the_last_is_on_its_way() -> None:
    one = line()
    hot(one)
    first_g = one.lift(HOT)
    hot(one, (40.0, 40.0, 44.0), 62.0)
    second_g = one.lift(HOT)
    giver, taker = one.cooks.values()
    assert [handed.build for handed in giver.told(HandedOver)] == [1]
    one.set_down(COLD, second_g)
    cold(one)
    one.set_down(COLD, first_g)
    cold(one)
    told = [(taken.origin, taken.became) for taken in taker.told(TakenOver)]
    assert told == [("hot line/2", 1), ("hot line/1", 2)]
    assert [handed.build for handed in giver.told(HandedOver)] == [1, 2]
    assert [gone.collected for gone in giver.told(Collected)] == [2, 1]
    assert giver.told(Finished) == []
    assert words(one) == {step: ["pass", "pass"] for step in STEPS}
    totals_g = [finished.net_g for finished in taker.told(Finished)]
    assert totals_g == pytest.approx([228.0, 222.0], abs=1.0)


def test_of_two_builds_that_weigh_alike_nobody_says_which_is_which() -> None:
    one = line()
    hot(one)
    first_g = one.lift(HOT)
    hot(one)
    second_g = one.lift(HOT)
    giver, taker = one.cooks.values()
    one.set_down(COLD, second_g)
    assert taker.told(TakenOver) == []
    assert len(taker.session.expected) == 2
    cold(one)
    assert giver.told(Collected) == []
    one.set_down(COLD, first_g)
    cold(one)
    # Both have come, whichever came first.
    assert {(taken.origin, taken.became) for taken in taker.told(TakenOver)} == {
        ("hot line/1", None), ("hot line/2", None),
    }  # fmt: skip
    assert {gone.collected for gone in giver.told(Collected)} == {1, 2}
    assert words(one) == {step: ["pass", "pass"] for step in STEPS}


def test_two_that_weigh_alike_and_were_judged_otherwise_are_unsure() -> None:
    one = line()
    hot(one, (40.0, 41.0, 50.0), 55.0)
    first_g = one.lift(HOT)
    hot(one, beans_g=66.0)
    one.lift(HOT)
    one.set_down(COLD, first_g)
    ladder = one.cooks[COLD].live.ladder
    assert [rung.verdict for rung in ladder[:2]] == [Verdict.UNSURE, Verdict.PASS]


@pytest.mark.parametrize("done_first", [True, False])
def test_a_step_judged_in_only_one_of_two_that_weigh_alike_is_judged_here(
    done_first: bool,
) -> None:
    one = line()
    bowls = [((40.0, 39.0, 41.0), 55.0), ((40.0, 40.0, 43.0), 52.0)]
    loads_g = []
    for grain, beans_g in bowls if done_first else reversed(bowls):
        hot(one, grain, beans_g)
        loads_g.append(one.lift(HOT))
    taker = one.set_down(COLD, loads_g[-1])
    assert taker.told(TakenOver) == []
    assert taker.live.ladder[0].verdict is Verdict.PASS
    assert taker.live.ladder[1].verdict is None
    cold(one)
    assert taker.portion("beans").verdict is Verdict.UNSURE


def test_which_of_two_it_was_comes_out_when_the_other_turns_up() -> None:
    one = Line({HOT: Scale(), COLD: Scale(seed=1), PASS: Scale(seed=2)})
    for cook in one.cooks.values():
        cook.wait(2.0)
    hot(one)
    first_g = one.lift(HOT)
    hot(one)
    one.lift(HOT)
    taker = one.set_down(COLD, first_g)
    assert taker.told(TakenOver) == []
    # Somebody finds the second one and says so.
    taker.tell(Forget("hot line/2"))
    taker.put(30.0).wait(1.0)
    (taken,) = taker.told(TakenOver)
    assert (taken.origin, taken.became) == ("hot line/1", 1)


# What does not go as planned.


def test_a_build_set_back_where_it_came_from_goes_on_there() -> None:
    one = line()
    hot(one)
    load_g = one.lift(HOT)
    assert one.cooks[COLD].session.expected == {"hot line/1"}
    one.set_down(HOT, load_g)
    assert one.cooks[COLD].session.expected == set()
    assert one.cooks[COLD].told(Forgotten)[0].origin == "hot line/1"
    assert one.cooks[HOT].told(HandedOver) == []
    one.set_down(COLD, one.lift(HOT))
    cold(one)
    assert words(one) == once(ALL_PASS)


def test_what_a_scale_was_told_says_what_to_tell_it_again() -> None:
    one = line()
    hot(one)
    one.set_down(HOT, one.lift(HOT))
    one.set_down(COLD, one.lift(HOT))
    giver, taker = one.cooks.values()
    expected, forgotten = taker.told(Expected)[0], taker.told(Forgotten)[0]
    (collected,) = giver.told(Collected)
    assert [command_behind(told) for told in (expected, forgotten, collected)] == [
        Expect(expected.transit), Forget("hot line/1"), Collect(1)
    ]  # fmt: skip


def test_a_build_comes_back_after_the_next_bowl_stood_there() -> None:
    one = line()
    hot(one)
    load_g = one.lift(HOT)
    one.set_down(HOT, BOWL_G).wait(1.0)
    one.lift(HOT)
    giver = one.set_down(HOT, load_g)
    (taken,) = giver.told(TakenOver)
    assert (taken.origin, taken.became) == ("hot line/1", 3)
    assert giver.live.step == "sauce"
    assert one.cooks[COLD].session.expected == set()
    one.set_down(COLD, one.lift(HOT))
    cold(one)
    assert words(one) == once(ALL_PASS)
    assert one.cooks[COLD].told(TakenOver)[0].origin == "hot line/3"


def test_a_line_that_closes_with_a_build_on_its_way_has_said_its_part() -> None:
    one = line()
    hot(one)
    one.lift(HOT)
    giver = one.cooks[HOT].close()
    assert giver.verdicts() == {"grain": "pass", "beans": "pass"}
    assert giver.told(Finished) == []
    assert len(giver.told(HandedOver)) == 1


def test_a_scale_that_stands_for_all_ends_a_build_that_was_left() -> None:
    one = line(posted=False)
    hot(one)
    one.lift(HOT)
    one.set_down(HOT, BOWL_G)
    giver = one.cooks[HOT]
    assert giver.finished().verdict is Verdict.UNDER
    assert giver.session.leaving == ()
    assert one.cooks[COLD].session.expected == set()


def test_a_build_taken_before_it_was_seen_to_leave_is_never_lost() -> None:
    """So quick a swap that the bare pan was never at rest."""
    one = line()
    giver = hot(one)
    giver.put(BOWL_G - giver.scale.load_g).wait(1.0)
    if giver.session.build == 2:
        assert [handed.build for handed in giver.told(HandedOver)] == [1]
        assert giver.told(Finished) == []
    giver.close()
    assert all(not word.skipped for word in giver.told(Portion))


def test_nobody_waits_for_ever() -> None:
    one = line()
    hot(one)
    one.lift(HOT)
    one.set_down(HOT, BOWL_G)
    giver, taker = one.cooks.values()
    assert giver.session.leaving
    for cook in (giver, taker):
        cook.scale.count += round(AWAITED_S * cook.scale.rate_hz)
        cook.put(5.0).take(5.0)
    assert giver.session.leaving == ()
    assert giver.session.expected == taker.session.expected == set()


def test_a_bowl_without_food_is_not_passed_on() -> None:
    one = line()
    one.set_down(HOT, BOWL_G).wait(1.0)
    one.lift(HOT)
    assert one.cooks[HOT].session.leaving == ()


def test_a_complete_build_is_not_passed_on() -> None:
    one = Line({HOT: Scale(), COLD: Scale(seed=1)}, posted=False)
    cook = one.cooks[HOT].wait(2.0).put(BOWL_G)
    for gestures in CLEAN:
        cook.put(*gestures).wait(1.0)
    one.lift(HOT)
    assert cook.session.leaving == ()


# What is refused.


def sent(one: Line) -> Expect:
    hot(one)
    one.cooks[HOT].lift()
    (transit,) = one.cooks[HOT].session.leaving
    return Expect(transit)


@pytest.mark.parametrize(
    ("command", "reason"),
    [
        (Forget("nobody/1"), "nobody/1 is not expected here"),
        (Collect(7), "build 7 is not on its way from here"),
    ],
)
def test_what_cannot_be_is_refused(command: Command, reason: str) -> None:
    with pytest.raises(CommandRefused, match=reason):
        line().cooks[COLD].tell(command)


def test_a_build_is_expected_once() -> None:
    one = line()
    expect = sent(one)
    one.cooks[COLD].tell(expect)
    with pytest.raises(CommandRefused, match="hot line/1 is expected already"):
        one.cooks[COLD].tell(expect)
    assert len(one.cooks[COLD].told(Expected)) == 1


def test_a_build_may_be_forgotten_before_the_first_reading() -> None:
    one = Line({HOT: Scale(), COLD: Scale()})
    one.cooks[HOT].wait(2.0)
    one.cooks[COLD].tell(sent(one))
    one.cooks[COLD].tell(Forget("hot line/1"))
    one.cooks[COLD].wait(1.0).put(HALF_G).wait(1.0)
    assert one.cooks[COLD].told(TakenOver) == []


def test_a_build_of_another_dish_is_refused() -> None:
    one = line()
    expect = sent(one)
    other = Line({COLD: Scale()}, dish_of_the_line(
        ("hot line",) * 4, ('revision = "1"', 'revision = "2"')
    ))  # fmt: skip
    with pytest.raises(CommandRefused, match="that build is test-bowl, revision 1; here it is"):
        other.cooks[COLD].tell(expect)


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"open": ("soup",)}, 'the dish built here has no step "soup"'),
        ({"open": ("grain",)}, "a step is named twice in that build"),
    ],
)
def test_a_build_that_makes_no_sense_is_refused(change: dict[str, Any], reason: str) -> None:
    one = line()
    transit = sent(one).transit
    (course,) = transit.courses
    odd = replace(transit, courses=(replace(course, **change),))
    with pytest.raises(CommandRefused, match=reason):
        one.cooks[COLD].tell(Expect(odd))


def test_no_more_builds_are_expected_than_a_line_can_hold() -> None:
    one = line()
    transit = sent(one).transit
    for number in range(MOST):
        one.cooks[COLD].tell(Expect(replace(transit, build=number + 1)))
    with pytest.raises(CommandRefused, match="20 builds are expected; that is enough"):
        one.cooks[COLD].tell(Expect(replace(transit, build=99)))


def test_a_build_that_stood_for_longer_than_a_day_is_passed_on_to_nobody() -> None:
    one = line()
    cook = hot(one)
    cook.scale.count += round(90_000 * cook.scale.rate_hz)
    cook.wait(2.0)
    one.lift(HOT)
    assert cook.session.leaving == ()


# What is learnt of a cook.


def test_what_went_on_elsewhere_tells_of_the_cook_who_did_it_and_of_nobody_else() -> None:
    one = line()
    for _ in range(2):
        hot(one, (45.0, 45.0, 45.0))
        one.set_down(COLD, one.lift(HOT))
        cold(one)
    giver, taker = one.cooks.values()
    assert set(giver.session.habit) == {"grain", "beans"}
    assert giver.session.habit["grain"] == pytest.approx((0.125, 0.125), abs=0.01)
    assert set(taker.session.habit) == {"sauce", "seeds"}
