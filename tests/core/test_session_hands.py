"""Hands on the bowl: presses, lifts, returns and swaps are told from food."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from scaled.core.events import (
    BuildStarted,
    Finished,
    Lifted,
    Portion,
    Returned,
    TakenBack,
    Verdict,
)
from scaled.core.live import Ask
from tests.core.scripted import (
    ALL_PASS,
    BOWL_G,
    CLEAN,
    GRAIN,
    STEPS,
    assert_never_wrong,
)
from tests.core.scripted_scale import Scale

if TYPE_CHECKING:
    from tests.core.scripted import Hire


@pytest.mark.parametrize("for_s", [0.2, 0.6, 2.0])
@pytest.mark.parametrize("force_g", [35.0, 150.0, 900.0])
@pytest.mark.parametrize("scoops_before", [1, 3])
def test_a_press_is_no_food(cook: Hire, scoops_before: int, force_g: float, for_s: float) -> None:
    one = cook().start().put(*GRAIN[:scoops_before]).press(force_g, for_s)
    one.put(*GRAIN[scoops_before:]).wait(1.0)
    one.put(60.0, 30.0, 12.0)
    one.lift(off_s=4.0)
    assert_never_wrong(one)
    assert one.finished().net_g == pytest.approx(222.0, abs=0.5)
    assert one.verdicts() == ALL_PASS


@pytest.mark.parametrize("for_s", [0.6, 1.0, 2.0])
@pytest.mark.parametrize("force_g", [40.0, 150.0])
def test_what_is_taken_back_as_a_hand_lets_go_is_told(
    cook: Hire, force_g: float, for_s: float
) -> None:
    one = cook().start().put(*GRAIN, 60.0, 30.0, 22.0)
    one.put(force_g, in_s=0.1, pause_s=for_s).put(-force_g - 10.0, in_s=0.1)
    (taken,) = one.told(TakenBack)
    assert taken.step == "seeds"
    assert taken.amount_g == pytest.approx(10.0, abs=0.5)


@pytest.mark.parametrize("for_s", [0.2, 0.8, 1.5])
@pytest.mark.parametrize("force_g", [5.0, 20.0, 40.0, 80.0, 200.0])
def test_a_hand_on_the_bowl_as_it_is_set_down_is_no_food(
    cook: Hire, force_g: float, for_s: float
) -> None:
    one = cook().wait(2.0).put(BOWL_G + force_g, in_s=0.2, pause_s=for_s).put(-force_g)
    for gestures in CLEAN:
        one.put(*gestures).wait(1.0)
    one.lift(off_s=4.0)
    assert len(one.told(BuildStarted)) == 1
    assert one.verdicts() == ALL_PASS


@pytest.mark.parametrize("after", [1, 2, 3])
def test_a_bowl_lifted_and_returned_goes_on_where_it_was(cook: Hire, after: int) -> None:
    one = cook().start()
    for gestures in CLEAN[:after]:
        one.put(*gestures).wait(1.0)
    one.put(one.lift(off_s=2.0))
    (lifted,), (returned,) = one.told(Lifted), one.told(Returned)
    food_g = one.scale.load_g - BOWL_G
    assert (lifted.net_g, returned.net_g) == pytest.approx((food_g, food_g), abs=0.5)
    assert returned.change_g == pytest.approx(0.0, abs=1.0)
    for gestures in CLEAN[after:]:
        one.put(*gestures).wait(1.0)
    one.lift(off_s=4.0)
    assert one.verdicts() == ALL_PASS
    assert len(one.told(BuildStarted)) == 1


def test_a_complete_build_may_be_turned_round_before_it_goes(cook: Hire) -> None:
    one = cook().start()
    for gestures in CLEAN:
        one.put(*gestures).wait(1.0)
    one.put(one.lift(off_s=1.0)).wait(1.0)
    assert one.told(Finished) == []
    one.lift(off_s=4.0)
    assert one.verdicts() == ALL_PASS
    assert len(one.told(BuildStarted)) == 1


def test_a_complete_build_is_not_over_while_it_is_set_back(cook: Hire) -> None:
    one = cook().start()
    for gestures in CLEAN:
        one.put(*gestures)
    load_g = one.lift(off_s=2.0)
    one.put(load_g, in_s=1.5)
    assert one.told(Finished) == []
    assert one.told(Returned)
    assert one.live.ask is Ask.LIFT


def test_food_added_while_the_bowl_was_off_is_seen_when_it_returns(cook: Hire) -> None:
    one = cook().start().put(*GRAIN).put(60.0)
    one.put(one.lift() + 30.0)
    (returned,) = one.told(Returned)
    assert returned.change_g == pytest.approx(30.0, abs=1.0)
    one.put(12.0)
    one.lift(off_s=4.0)
    assert_never_wrong(one)
    assert one.finished().net_g == pytest.approx(222.0, abs=0.5)


def test_a_bowl_swapped_for_a_new_one_ends_the_build(cook: Hire) -> None:
    one = cook().start().put(*GRAIN).wait(1.0).put(60.0)
    one.lift()
    one.put(BOWL_G)
    assert [one.portion(step).verdict for step in STEPS] == ["pass", "pass", "under", "under"]
    assert [one.portion(step).skipped for step in STEPS] == [False, False, True, True]
    assert one.finished().verdict is Verdict.UNDER
    assert one.finished().net_g == pytest.approx(180.0, abs=0.5)
    assert one.session.build == 2
    one.put(*GRAIN)
    assert one.settled().build == 2
    assert one.settled().step == "grain"


def test_an_empty_bowl_changed_for_another_is_no_build(cook: Hire) -> None:
    one = cook().start()
    one.lift()
    one.put(BOWL_G)
    assert [*one.told(Portion), *one.told(Finished)] == []
    one.put(*GRAIN)
    assert one.settled().step == "grain"


def test_a_build_left_when_it_was_lifted_whatever_the_bare_pan_shows_then(cook: Hire) -> None:
    one = cook().start().put(*GRAIN).wait(1.0).put(60.0)
    one.put(2.0 - one.scale.load_g, pause_s=1.5)  # crumbs stay on the pan
    one.scale.jump(-2.0)
    one.wait(1.5).put(BOWL_G)
    built_s = one.told(Lifted)[0].t - one.told(BuildStarted)[0].t
    assert one.finished().duration_s == pytest.approx(built_s, abs=0.3)


@pytest.mark.parametrize("tool_g", [43.0, 52.0, 78.0])
@pytest.mark.parametrize("scoops_before", [0, 1, 2])
def test_a_tool_laid_on_the_pan_for_a_while_is_no_food(
    cook: Hire, scoops_before: int, tool_g: float
) -> None:
    one = cook().start().put(*GRAIN[:scoops_before]).put(tool_g, pause_s=5.0).take(tool_g)
    one.put(*GRAIN[scoops_before:]).wait(1.0)
    for gestures in CLEAN[1:]:
        one.put(*gestures).wait(1.0)
    one.lift(off_s=4.0)
    assert_never_wrong(one)
    assert one.finished().net_g == pytest.approx(222.0, abs=0.5)
    assert one.session.build == 1


@pytest.mark.parametrize("more_g", [0.0, 0.5, 3.0])
@pytest.mark.parametrize("division_g", [0.1, 1.0, 5.0])
def test_an_empty_bowl_lifted_or_exchanged_makes_no_build_longer_or_shorter(
    cook: Hire, division_g: float, more_g: float
) -> None:
    """Whether it is the same one or the next may only become clear when it leaves."""
    one = cook(scale=Scale(division_g), division_g=division_g).start()
    one.lift(off_s=3.0)
    one.put(BOWL_G + more_g)
    assert (one.live.ask, one.live.step) == (Ask.ADD, "grain")
    for gestures in CLEAN:
        one.put(*gestures).wait(1.0)
    one.lift(off_s=4.0)
    said = one.told(Finished)[-1]
    from_s = 3.0 if said.build == 1 else 8.0
    assert said.duration_s == pytest.approx(28.5 - from_s, abs=1.0)
    assert said.net_g == pytest.approx(222.0, abs=division_g)
    one.wait(2.0).build(*CLEAN)
    assert one.told(Finished)[-1].duration_s == pytest.approx(20.4, abs=1.5)


@pytest.mark.parametrize(("lag_s", "within_g"), [(0.12, 0.02), (0.3, 0.15)])
def test_a_slow_displays_last_grams_do_not_count_as_a_lower_container(
    cook: Hire, lag_s: float, within_g: float
) -> None:
    """The pan is told to be at rest, and a little later known to be at rest lower."""
    one = cook(scale=Scale(lag_s=lag_s)).start().put(*GRAIN)
    load_g = one.lift(off_s=3.0)
    one.put(load_g).put(60.0, 30.0, 12.0)
    one.lift(off_s=4.0)
    assert one.finished().net_g == pytest.approx(222.0, abs=within_g)


def test_a_bowl_set_to_zero_before_it_was_weighed_leaves_its_food_as_it_is(cook: Hire) -> None:
    """Where the zero lies was a guess: that it is seen moves no food."""
    one = cook(scale=Scale(2.0, lag_s=0.4), division_g=2.0).wait(2.0)
    one.put(BOWL_G, pause_s=0.1)
    one.scale.jump(-BOWL_G)
    one.wait(2.0).put(*GRAIN)
    load_g = one.lift(off_s=3.0)
    one.put(load_g).put(60.0, 30.0, 12.0)
    one.lift(off_s=4.0)
    assert one.finished().net_g == pytest.approx(222.0, abs=0.5)
