"""What has been said for good: once, and only what is sure."""

from __future__ import annotations

import pytest

from scaled.core.belief import Belief, Mode
from scaled.core.events import Attribution, Finished, Portion, Verdict
from scaled.core.ledger import Ledger
from scaled.core.plan import Plan
from scaled.core.share import Ended, Share
from scaled.core.track import Tracker
from tests.core.scripted import STEPS, dish

PLAN = Plan.of(dish())
GRAIN = Share((0,), 120.0, 0.4, clear=True)
BEANS = Share((1,), 60.0, 0.4, clear=True)
BOTH = Share((1, 2), 90.0, 0.4, clear=True)


def belief(*closed: Share, group: tuple[int, ...] = (3,), gestures: int = 1) -> Belief:
    """A bowl with some steps closed and 12 g in the open one."""
    start_g = 20.0 + sum(share.net_g for share in closed)
    done = {step for share in closed for step in share.group} | set(group)
    return Belief(
        mode=Mode.ON,
        zero_g=0.0,
        level_g=start_g + 12.0,
        level_u_g=0.3,
        base_g=20.0,
        base_u_g=0.3,
        group=group,
        ahead=tuple(step for step in range(4) if step not in done),
        start_g=start_g,
        start_u_g=0.3,
        gestures=gestures,
        closed=closed,
    )


def tracker(*weighed: tuple[float, Belief]) -> Tracker:
    it = Tracker(PLAN)
    it.beliefs = weighed
    return it


def ledger() -> Ledger:
    return Ledger(PLAN, 1, 5.0)


def steps(events: list[Portion]) -> list[str]:
    return [event.step for event in events]


def portions(events: object) -> list[Portion]:
    assert isinstance(events, list)
    return [event for event in events if isinstance(event, Portion)]


def finished(events: object) -> Finished:
    assert isinstance(events, list)
    (said,) = (event for event in events if isinstance(event, Finished))
    return said


def test_a_closed_step_that_is_sure_is_said_once() -> None:
    book, beliefs = ledger(), tracker((1.0, belief(GRAIN, BEANS)))
    said = portions(book.close(beliefs, (), 20.0))
    assert steps(said) == ["grain", "beans"]
    assert {(event.t, event.build, event.verdict) for event in said} == {(20.0, 1, Verdict.PASS)}
    assert book.close(beliefs, (), 21.0) == []
    assert set(book.portions) == {0, 1}


def test_a_closed_step_that_is_not_sure_waits() -> None:
    split = tracker((0.7, belief(GRAIN)), (0.3, belief(Share((0,), 80.0, 0.4, clear=True))))
    assert ledger().close(split, (), 20.0) == []
    unclear = tracker((1.0, belief(GRAIN._replace(clear=False))))
    assert ledger().close(unclear, (), 20.0) == []


def test_food_of_what_may_be_the_next_build_is_not_said_of_this_one() -> None:
    unclear = tracker((0.6, belief(GRAIN)._replace(fresh=True)), (0.4, belief(GRAIN)))
    assert ledger().close(unclear, (), 20.0) == []


def test_what_contradicts_a_final_word_is_no_longer_believed() -> None:
    beliefs = tracker(
        (0.998, belief(GRAIN, BEANS)), (0.002, belief(GRAIN, BEANS._replace(group=(2,))))
    )
    ledger().close(beliefs, (), 20.0)
    assert [it.closed for _, it in beliefs.beliefs] == [(GRAIN, BEANS)]
    assert beliefs.beliefs[0][0] == pytest.approx(1.0)


def test_two_steps_known_as_a_sum_are_said_together() -> None:
    said = portions(ledger().close(tracker((1.0, belief(GRAIN, BOTH))), (), 20.0))
    assert steps(said) == ["grain", "beans", "sauce"]
    assert [event.attribution for event in said[1:]] == [Attribution.JOINT, Attribution.JOINT]
    assert said[1].joint_with == ("sauce",)


def test_a_person_closes_what_is_not_sure_and_it_is_said_to_be_unsure() -> None:
    split = tracker((0.7, belief(GRAIN)), (0.3, belief(Share((0,), 80.0, 0.4, clear=True))))
    book = ledger()
    said = portions(book.close_by_hand(split, belief(GRAIN), 20.0))
    assert steps(said) == ["grain", "seeds"]
    assert [event.verdict for event in said] == [Verdict.UNSURE, Verdict.PASS]
    assert {b.gestures for _, b in split.beliefs} == {0}
    assert sum(chance for chance, _ in split.beliefs) == pytest.approx(1.0)


SHORT = Share((0,), 80.0, 0.4, clear=True)


def by_hand(*weighed: tuple[float, Belief]) -> dict[str, Verdict]:
    """The words when a person closes the open step of the first of some beliefs."""
    said = portions(ledger().close_by_hand(tracker(*weighed), weighed[0][1], 20.0))
    return {word.step: word.verdict for word in said}


def test_a_person_cannot_make_a_step_pass_that_may_be_no_good() -> None:
    good, short = (belief(share, group=(1,)) for share in (GRAIN, SHORT))
    assert by_hand((0.98, good), (0.02, short))["grain"] is Verdict.PASS
    assert by_hand((0.95, good), (0.05, short))["grain"] is Verdict.UNSURE


def test_less_is_asked_by_hand_of_steps_out_of_order() -> None:
    swapped, short = (belief(BEANS, share, group=(3,)) for share in (GRAIN, SHORT))
    assert by_hand((0.95, swapped), (0.05, short))["grain"] is Verdict.PASS
    assert by_hand((0.88, swapped), (0.12, short))["grain"] is Verdict.UNSURE
    under = belief(BEANS._replace(net_g=30.0), GRAIN, group=(3,))
    no_less = belief(BEANS._replace(net_g=30.0), SHORT, group=(3,))
    assert by_hand((0.95, under), (0.05, no_less))["grain"] is Verdict.UNSURE


def test_a_build_that_may_have_been_lifted_holds_its_open_step_as_well() -> None:
    whole = belief(GRAIN, group=(1,))._replace(level_g=200.0)
    lifted = whole._replace(mode=Mode.OFF)
    assert by_hand((0.9, whole), (0.1, lifted)) == {"grain": Verdict.PASS, "beans": Verdict.PASS}


def test_a_person_closes_what_the_screen_showed_even_if_nobody_else_believes_it() -> None:
    beliefs = tracker((1.0, belief(GRAIN)))
    shown = belief(GRAIN, group=(1,))
    said = portions(ledger().close_by_hand(beliefs, shown, 20.0))
    assert steps(said) == ["grain", "beans"]
    assert said[1].verdict is Verdict.UNSURE
    assert {b.group for _, b in beliefs.beliefs} == {(2,)}


def test_what_a_key_closes_is_what_the_screen_showed_and_no_surer_for_it() -> None:
    split = tracker((0.8, belief(GRAIN)), (0.2, belief(GRAIN, group=(1,))))
    grain, beans = portions(ledger().close_by_hand(split, belief(GRAIN, group=(1,)), 20.0))
    assert (grain.step, grain.verdict, grain.attribution) == ("grain", Verdict.PASS, "sure")
    assert (beans.step, beans.verdict) == ("beans", Verdict.UNSURE)
    assert {b.group for _, b in split.beliefs} == {(2,)}


def test_the_last_word_can_be_taken_back_and_said_again() -> None:
    book, beliefs = ledger(), tracker((1.0, belief(GRAIN, BEANS)))
    assert book.reopen() is None
    before = ((1.0, belief(GRAIN)),)
    book.close(beliefs, before, 20.0)
    assert book.reopen() == ((1,), before)
    assert set(book.portions) == {0}
    assert steps(portions(book.close(beliefs, before, 22.0))) == ["beans"]


def test_what_was_closed_when_the_build_came_cannot_be_taken_back() -> None:
    book = ledger()
    said = book.close(tracker((1.0, belief(GRAIN, BEANS))), (), 20.0)
    assert steps(portions(said)) == ["grain", "beans"]
    assert book.reopen() is None


def test_two_steps_said_together_are_taken_back_together() -> None:
    book, before = ledger(), ((1.0, belief(GRAIN)),)
    book.close(tracker((1.0, belief(GRAIN, BOTH))), before, 20.0)
    assert book.reopen() == ((1, 2), before)
    assert set(book.portions) == {0}


def test_the_end_says_what_is_left_and_the_whole() -> None:
    book = ledger()
    book.close(tracker((1.0, belief(GRAIN))), (), 20.0)
    end = Ended((GRAIN, BEANS), 180.0, 0.4)
    events = book.end([(1.0, end)], 40.0, 38.0)
    said = portions(events)
    assert steps(said) == ["beans", "sauce", "seeds"]
    assert [event.skipped for event in said] == [False, True, True]
    assert isinstance(events[-1], Finished)
    whole = finished(events)
    assert (whole.net_g, whole.duration_s, whole.verdict) == (180.0, 33.0, Verdict.UNDER)


def test_every_step_is_said_once_however_the_build_ends() -> None:
    ends = [(0.6, Ended((GRAIN, BOTH), 210.0, 0.4)), (0.4, Ended((GRAIN, BEANS), 210.0, 0.4))]
    said = portions(ledger().end(ends, 40.0, 38.0))
    assert sorted(steps(said)) == sorted(STEPS)


def test_a_word_already_said_stands_when_the_end_tells_otherwise() -> None:
    book = ledger()
    said = portions(book.close(tracker((1.0, belief(GRAIN, BEANS))), (), 20.0))
    later = portions(book.end([(1.0, Ended((GRAIN, BOTH), 210.0, 0.4))], 40.0, 38.0))
    assert sorted(steps([*said, *later])) == sorted(STEPS)


def test_a_bowl_without_food_was_no_build() -> None:
    assert ledger().end([(1.0, Ended((), 0.0, 0.4))], 40.0, 38.0) == []


def test_a_whole_of_two_possible_weights_is_unsure() -> None:
    ends = [(0.6, Ended((GRAIN,), 120.0, 0.4)), (0.4, Ended((GRAIN,), 160.0, 0.4))]
    whole = finished(ledger().end(ends, 40.0, 38.0))
    assert whole.verdict is Verdict.UNSURE
    assert whole.net_g is None


def test_a_whole_with_something_unexplained_in_it_is_unsure() -> None:
    end = Ended((GRAIN, BEANS._replace(clear=False)), 222.0, 0.4)
    assert finished(ledger().end([(1.0, end)], 40.0, 38.0)).verdict is Verdict.UNSURE


def test_what_contradicts_the_weight_of_a_final_word_is_no_longer_believed() -> None:
    beliefs = tracker((0.998, belief(GRAIN)), (0.002, belief(GRAIN._replace(net_g=80.0))))
    ledger().close(beliefs, (), 20.0)
    assert [it.closed for _, it in beliefs.beliefs] == [(GRAIN,)]


def test_the_words_of_another_scale_are_not_this_cooks_own() -> None:
    it = ledger()
    first, second = portions(ledger().end([(1.0, Ended((GRAIN, BEANS), 180.0, 0.5))], 9.0, 8.0))[
        :2
    ]
    it.carry([first], ())
    assert it.own == []
    it.portions[1] = second
    assert it.own == [second]
