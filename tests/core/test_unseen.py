"""Readings are missing while the cook works on: what was not seen is not told as if it was."""

from __future__ import annotations

import pytest

from scaled.core.command import Next
from scaled.core.events import (
    Attribution,
    BuildStarted,
    Finished,
    Lifted,
    Portion,
    SignalLost,
    TakenBack,
)
from scaled.core.rest import GAP_S
from tests.core.scripted import ALL_PASS, BOWL_G, CLEAN, GRAIN, STEPS, Cook, assert_never_wrong


class Link:
    """A cook before a link that drops."""

    def __init__(self, cook: Cook) -> None:
        self.cook = cook

    def drop(self, *amounts_g: float, pause_s: float = 2.0, in_s: float = 0.3) -> Cook:
        """Gestures that nobody sees, a pause after each."""
        for amount_g in amounts_g:
            for _ in self.cook.scale.move(amount_g, in_s):
                pass
            for _ in self.cook.scale.hold(pause_s):
                pass
        return self.cook


@pytest.fixture
def cook() -> Cook:
    return Cook().start()


def unsure(cook: Cook, build: int = 1) -> set[str]:
    """Steps whose final word does not say what they weigh."""
    return {
        said.step
        for said in cook.told(Portion)
        if said.build == build and said.attribution is not Attribution.SURE
    }


def finish(cook: Cook, *portions: tuple[float, ...]) -> Cook:
    for gestures in portions:
        cook.put(*gestures).wait(1.0)
    cook.lift(off_s=4.0)
    return cook


# A drop as a radio makes it: short, and the food lands meanwhile.


@pytest.mark.parametrize("after", [0, 1, 2])
def test_a_drop_within_a_step_changes_nothing(cook: Cook, after: int) -> None:
    cook.put(*GRAIN[:after])
    Link(cook).drop(GRAIN[after], pause_s=2.5)
    cook.wait(2.0).put(*GRAIN[after + 1 :]).wait(1.0)
    finish(cook, *CLEAN[1:])
    assert cook.verdicts() == ALL_PASS
    assert cook.portion("grain").net_g == pytest.approx(120.0, abs=1.0)
    assert cook.portion("grain").u_g == pytest.approx(0.41, abs=0.05)
    assert cook.finished().verdict == "pass"


def test_all_scoops_of_a_step_may_land_unseen(cook: Cook) -> None:
    Link(cook).drop(*GRAIN)
    cook.wait(2.0)
    finish(cook, *CLEAN[1:])
    assert_never_wrong(cook)
    assert cook.portion("grain").net_g == pytest.approx(120.0, abs=1.0)


def test_a_short_drop_between_two_steps_changes_nothing(cook: Cook) -> None:
    cook.put(*GRAIN).wait(1.0)
    Link(cook).drop(60.0, pause_s=1.2)
    cook.wait(2.0)
    finish(cook, *CLEAN[2:])
    assert cook.verdicts() == ALL_PASS
    assert cook.portion("beans").u_g == pytest.approx(0.41, abs=0.05)


# What has time to happen in a longer one.


def test_a_step_seen_whole_before_a_drop_may_have_been_corrected_in_it(cook: Cook) -> None:
    """The cook added 5 g of grain, then the beans: the sum alone is known."""
    cook.put(40.0, 40.0, 36.0).wait(1.0)
    Link(cook).drop(5.0, 60.0)
    cook.wait(2.0)
    finish(cook, *CLEAN[2:])
    grain = cook.portion("grain")
    assert grain.verdict == "pass"
    assert grain.net_g == pytest.approx(116.0, abs=1.0)
    assert grain.u_g is not None
    assert 2 * grain.u_g >= 5.0
    assert cook.finished().net_g == pytest.approx(223.0, abs=1.0)


def test_a_step_that_was_short_before_a_drop_is_not_called_short_after_it(cook: Cook) -> None:
    cook.put(40.0, 40.0, 20.0).wait(1.0)
    Link(cook).drop(18.0, 60.0)
    cook.wait(2.0)
    finish(cook, *CLEAN[2:])
    assert {"grain"} <= unsure(cook)


@pytest.mark.parametrize("seen", [0, 1, 2, 3])
def test_several_steps_in_one_drop_are_not_told_apart(cook: Cook, seen: int) -> None:
    for gestures in CLEAN[:seen]:
        cook.put(*gestures).wait(1.0)
    Link(cook).drop(*(gesture for gestures in CLEAN[seen:] for gesture in gestures))
    cook.wait(2.0)
    cook.lift(off_s=4.0)
    cook.close()
    assert_never_wrong(cook)
    assert unsure(cook) >= set(STEPS[seen:-1])


def test_a_build_carried_off_in_a_drop_is_not_called_unfinished(cook: Cook) -> None:
    cook.put(*GRAIN).put(60.0).wait(1.0)
    Link(cook).drop(30.0, 12.0, -BOWL_G - 222.0, pause_s=2.5)
    cook.wait(4.0).close()
    assert_never_wrong(cook)
    assert not any(said.skipped for said in cook.told(Portion))
    assert {"sauce", "seeds"} <= unsure(cook)


def test_a_build_set_back_and_fed_and_carried_off_in_a_drop_is_not_called_unfinished(
    cook: Cook,
) -> None:
    """The pan is empty before and after it."""
    cook.put(*GRAIN).put(60.0).wait(1.0)
    cook.lift()
    Link(cook).drop(BOWL_G + 180.0, 30.0, 12.0, -BOWL_G - 222.0)
    cook.wait(4.0).close()
    assert_never_wrong(cook)
    assert not any(said.skipped for said in cook.told(Portion))


def test_the_next_build_may_be_under_way_after_a_drop(cook: Cook) -> None:
    for gestures in CLEAN:
        cook.put(*gestures).wait(1.0)
    load_g = cook.scale.load_g
    Link(cook).drop(-load_g, BOWL_G, 40.0, pause_s=3.0)
    cook.wait(2.0).put(41.0, 39.0).wait(1.0)
    finish(cook, *CLEAN[1:])
    assert [said.build for said in cook.told(BuildStarted)] == [1, 2]
    for build in (1, 2):
        assert_never_wrong(cook, build=build)
    assert cook.verdicts(2)["sauce"] == "pass"


def test_a_build_may_begin_on_a_pan_that_nobody_saw(cook: Cook) -> None:
    finish(cook, *CLEAN)
    Link(cook).drop(BOWL_G, *GRAIN)
    cook.wait(2.0)
    finish(cook, *CLEAN[1:])
    assert_never_wrong(cook, build=2)
    assert cook.finished(2) in cook.told(Finished)


def test_a_build_that_came_and_went_unseen_is_not_told_of(cook: Cook) -> None:
    finish(cook, *CLEAN)
    Link(cook).drop(BOWL_G, 120.0, -BOWL_G - 120.0, pause_s=4.0)
    finish(cook.wait(2.0).put(BOWL_G), *CLEAN)
    assert [said.build for said in cook.told(BuildStarted)] == [1, 2]
    assert cook.verdicts(2) == ALL_PASS


def test_an_ended_build_that_still_stands_there_means_nothing_after_a_drop(cook: Cook) -> None:
    for gestures in CLEAN:
        cook.put(*gestures).tell(Next())
    told = len(cook.told(Portion))
    Link(cook).drop(-BOWL_G, pause_s=3.0)
    cook.wait(3.0)
    assert len(cook.told(Portion)) == told == len(STEPS)


# What is told of it.


def test_deeds_that_were_not_the_only_ones_are_not_told(cook: Cook) -> None:
    cook.put(*GRAIN).put(90.0).wait(1.0)
    Link(cook).drop(-30.0, 30.0, pause_s=4.0)
    cook.wait(2.0)
    assert not cook.told(TakenBack)
    load_g = cook.scale.load_g
    Link(cook).drop(12.0, -load_g - 12.0, pause_s=4.0)
    cook.wait(4.0)
    assert len(cook.told(Lifted)) <= 1
    assert not cook.told(SignalLost)  # that is the station's to tell


@pytest.mark.parametrize(
    ("for_s", "u_g"), [(GAP_S + 0.5, 0.42), (6.0, 0.47), (25.0, 0.53), (3600.0, 0.53)]
)
def test_a_cook_who_waits_for_the_link_loses_nothing(cook: Cook, for_s: float, u_g: float) -> None:
    cook.put(*GRAIN).wait(1.0)
    Link(cook).drop(0.0, pause_s=for_s)
    cook.wait(1.0)
    finish(cook, *CLEAN[1:])
    assert cook.verdicts() == ALL_PASS
    # The level itself is known to 0.41 g; the longer nobody saw it, the more may have come.
    assert cook.portion("grain").u_g == pytest.approx(u_g, abs=0.03)
