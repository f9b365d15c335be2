"""What a person may tell the session, when, and what comes of it."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

import pytest

from scaled.core.command import Command, Confirm, Next, Note, Undo
from scaled.core.errors import CommandRefused
from scaled.core.events import (
    BuildStarted,
    Confirmed,
    Finished,
    Noted,
    Portion,
    Reopened,
    Tapped,
    Verdict,
)
from scaled.core.live import Ask, StepState
from tests.core.scripted import ALL_PASS, BOWL_G, CLEAN, GRAIN, STEPS

if TYPE_CHECKING:
    from tests.core.scripted import Cook, Hire


def refusal(cook: Cook, command: Command) -> CommandRefused:
    """The refusal of a command that must be refused, and must change nothing."""
    before = cook.session.live
    with pytest.raises(CommandRefused) as refused:
        cook.tell(command)
    assert cook.session.live == before
    return refused.value


def said_of(cook: Cook, step: str) -> list[Portion]:
    """All final words on a step, oldest first."""
    return [portion for portion in cook.told(Portion) if portion.step == step]


# Next.


def test_next_closes_the_step_at_once_whatever_it_weighs(cook: Hire) -> None:
    one = cook().start().put(40.0, 40.0)
    tapped, portion = one.tell(Next())
    assert isinstance(tapped, Tapped)
    assert tapped.key == "next"
    assert isinstance(portion, Portion)
    assert (portion.step, portion.verdict) == ("grain", Verdict.UNDER)
    assert portion.net_g == pytest.approx(80.0, abs=0.5)
    assert one.live.step == "beans"
    assert one.live.ask is Ask.ADD
    assert one.live.ladder[0].state is StepState.DONE
    assert one.live.ladder[0].verdict is Verdict.UNDER


def test_what_comes_after_next_belongs_to_the_next_step(cook: Hire) -> None:
    one = cook().start().put(40.0, 40.0)
    one.tell(Next())
    one.put(40.0)  # a grain's scoop by its size, but the cook said otherwise
    one.tell(Next())
    assert one.portion("beans").net_g == pytest.approx(40.0, abs=0.5)


def test_next_on_an_empty_step_skips_it(cook: Hire) -> None:
    one = cook().start()
    one.tell(Next())
    said = one.portion("grain")
    assert said.skipped
    assert said.verdict is Verdict.UNDER
    assert one.live.step == "beans"


def test_a_bowl_lifted_after_next_left_a_step_empty_is_asked_back(cook: Hire) -> None:
    one = cook().start().put(40.0, 40.0, 40.0)
    for _ in range(2):
        one.tell(Next())
    one.lift()
    assert one.live.ask is Ask.RETURN
    assert one.live.step == "sauce"


def test_next_through_all_steps_finishes_the_build(cook: Hire) -> None:
    one = cook().start().put(40.0, 40.0, 40.0)
    one.tell(Next())
    one.put(60.0)
    one.tell(Next())
    one.tell(Next())
    one.put(12.0)
    one.tell(Next())
    assert one.verdicts() == dict(zip(STEPS, ("pass", "pass", "under", "pass"), strict=True))
    assert one.portion("sauce").skipped
    assert one.finished().net_g == pytest.approx(192.0, abs=0.5)
    assert isinstance(one.events[-1], Finished)
    assert one.live.ask is Ask.LIFT


@pytest.mark.parametrize("force_g", [8.0, 60.0, 150.0])
def test_a_lid_or_a_hand_on_a_build_ended_by_a_key_starts_nothing(
    cook: Hire, force_g: float
) -> None:
    one = cook().start()
    for gestures in CLEAN:
        one.put(*gestures)
        one.tell(Next())
    one.put(force_g)
    asked = [one.live.ask]
    one.lift(off_s=4.0)
    asked.append(one.live.ask)
    assert asked == [Ask.LIFT, Ask.PLACE]
    assert len(one.told(BuildStarted)) == len(one.told(Finished)) == 1


@pytest.mark.parametrize("for_s", [0.2, 1.0])
def test_a_hand_that_lets_go_of_a_build_ended_by_a_key_has_not_lifted_it(
    cook: Hire, for_s: float
) -> None:
    one = cook().start()
    for gestures in CLEAN:
        one.put(*gestures)
        one.tell(Next())
    asked = [one.press(150.0, for_s=for_s).live.ask]
    one.lift(off_s=4.0)
    asked.append(one.live.ask)
    assert asked == [Ask.LIFT, Ask.PLACE]


def test_a_key_makes_no_guess_sure(cook: Hire) -> None:
    one = cook().start().put(40.0, 41.0).wait(1.0).put(75.0)
    assert one.settled().verdict is Verdict.UNSURE
    one.tell(Next())
    assert one.portion("grain").verdict is Verdict.UNSURE


def test_a_waiting_next_is_not_spent_on_a_pause_in_a_pour(cook: Hire) -> None:
    one = cook().start().put(40.0, 40.0)
    one.put(21.0, pause_s=0.0)
    one.tell(Next())
    one.wait(0.35)
    one.put(18.0)
    one.wait(2.0)
    assert one.portion("grain").net_g == pytest.approx(119.0, abs=1.5)


def test_a_check_before_any_container_is_refused(cook: Hire) -> None:
    reason = refusal(cook().wait(2.0), Confirm("lid")).reason
    assert reason == "no build yet; set the container down first"


def test_the_next_build_follows_one_that_next_finished(cook: Hire) -> None:
    one = cook().start()
    for gestures in CLEAN:
        one.put(*gestures)
        one.tell(Next())
    one.lift(off_s=4.0)
    one.build(*CLEAN)
    assert one.verdicts(1) == one.verdicts(2) == ALL_PASS
    assert len(one.told(BuildStarted)) == 2
    assert len(one.told(Finished)) == 2


def test_next_while_the_weight_moves_waits_for_the_rest(cook: Hire) -> None:
    one = cook().start().put(40.0, 40.0)
    one.put(40.0, pause_s=0.0)
    (tapped,) = one.tell(Next())
    assert isinstance(tapped, Tapped)
    assert one.told(Portion) == []
    one.wait(2.0)
    assert one.portion("grain").net_g == pytest.approx(120.0, abs=0.5)
    assert one.live.step == "beans"


def test_next_twice_while_the_weight_moves_closes_one_step(cook: Hire) -> None:
    one = cook().start().put(40.0, 40.0)
    one.put(40.0, pause_s=0.0)
    one.tell(Next())
    one.tell(Next())
    one.wait(2.0)
    assert [portion.step for portion in one.told(Portion)] == ["grain"]


def test_next_while_the_bowl_leaves_closes_nothing_that_is_gone(cook: Hire) -> None:
    one = cook().start().put(40.0, 40.0, 40.0).put(60.0)
    one.put(-one.scale.load_g, pause_s=0.0, in_s=0.2)
    one.tell(Next())
    one.wait(2.0)
    assert one.live.ask is Ask.RETURN


@pytest.mark.parametrize("command", [Next(), Undo()])
def test_keys_without_a_build_are_refused(cook: Hire, command: Command) -> None:
    assert refusal(cook().wait(2.0), command).command in {"next", "undo"}
    done = cook().build(*CLEAN)
    assert refusal(done, command).reason


@pytest.mark.parametrize("command", [Next(), Undo()])
def test_keys_before_the_first_reading_are_refused(cook: Hire, command: Command) -> None:
    one = cook()
    assert refusal(one, command).reason
    assert one.session.live is None


def test_next_is_refused_while_the_bowl_is_away(cook: Hire) -> None:
    one = cook().start().put(40.0, 40.0, 40.0)
    one.lift()
    assert refusal(one, Next()).command == "next"


# Undo.


def test_undo_reopens_the_last_step_and_a_later_word_replaces_the_first(cook: Hire) -> None:
    one = cook().start().put(40.0, 40.0)
    one.tell(Next())
    tapped, reopened = one.tell(Undo())
    assert isinstance(tapped, Tapped)
    assert tapped.key == "undo"
    assert isinstance(reopened, Reopened)
    assert reopened.step == "grain"
    assert one.live.step == "grain"
    assert one.live.ladder[0].state is StepState.OPEN
    one.put(40.0).wait(1.0).put(60.0)
    first, then = said_of(one, "grain")
    assert (first.verdict, then.verdict) == (Verdict.UNDER, Verdict.PASS)
    assert then.net_g == pytest.approx(120.0, abs=0.5)
    one.put(30.0, 12.0)
    one.lift(off_s=4.0)
    assert one.finished().verdict is Verdict.PASS


def test_undo_counts_what_came_since_into_the_reopened_step(cook: Hire) -> None:
    one = cook().start().put(40.0, 40.0)
    one.tell(Next())
    one.put(38.0)
    one.tell(Undo())
    assert one.live.step == "grain"
    assert one.live.net_g == pytest.approx(118.0, abs=0.5)
    assert one.live.next_step == "beans"


def test_undo_takes_back_a_word_said_without_a_key(cook: Hire) -> None:
    one = cook().start().put(40.0, 40.0, 40.0).wait(1.0).put(8.0).wait(1.0).put(60.0)
    assert said_of(one, "grain")
    one.tell(Undo())
    assert one.told(Reopened)[-1].step == "grain"
    assert one.live.step == "grain"


def test_undo_again_goes_further_back(cook: Hire) -> None:
    one = cook().start().put(40.0, 40.0, 40.0)
    one.tell(Next())
    one.put(60.0)
    one.tell(Next())
    one.tell(Undo())
    one.tell(Undo())
    assert [back.step for back in one.told(Reopened)] == ["beans", "grain"]
    assert one.live.step == "grain"
    assert one.live.net_g == pytest.approx(180.0, abs=0.5)
    assert refusal(one, Undo()).command == "undo"


def test_undo_of_a_skipped_step_opens_it_for_food(cook: Hire) -> None:
    one = cook().start().put(40.0, 40.0, 40.0)
    one.tell(Next())
    one.tell(Next())
    assert one.portion("beans").skipped
    one.tell(Undo())
    one.put(60.0).wait(1.0).put(30.0).wait(1.0).put(12.0)
    one.lift(off_s=4.0)
    assert said_of(one, "beans")[-1].verdict is Verdict.PASS
    assert not said_of(one, "beans")[-1].skipped


def test_undo_counts_a_step_that_was_not_begun_into_the_one_before(cook: Hire) -> None:
    one = cook().start().put(*GRAIN).put(20.0)
    assert (one.live.step, one.live.ladder[0].state) == ("beans", StepState.OPEN)
    assert [type(event) for event in one.tell(Undo())] == [Tapped]
    assert (one.live.step, one.live.ask) == ("grain", Ask.TAKE_BACK)
    assert one.live.net_g == pytest.approx(140.0, abs=0.5)
    one.take(20.0).put(60.0)
    assert one.portion("grain").net_g == pytest.approx(120.0, abs=0.5)
    assert one.live.step == "beans"


def test_undo_counts_back_what_nobody_but_the_screen_believed(cook: Hire) -> None:
    one = cook().start().put(*GRAIN).put(20.0)
    one.session._tracker.condition(lambda belief: belief.group == (1,))
    one.tell(Undo())
    assert (one.live.step, one.live.ask) == ("grain", Ask.TAKE_BACK)
    assert one.live.amount_g == pytest.approx(20.0, abs=0.5)


def test_undo_of_what_was_taken_out_again_stays_with_the_build(cook: Hire) -> None:
    one = cook().start().put(*GRAIN).put(60.0).put(30.0).put(13.0)
    one.take(17.0)  # all the seeds, and some sauce: nothing that a cook usually does
    assert (one.live.ask, one.live.step) == (Ask.CHECK, "seeds")
    one.tell(Undo())
    assert (one.live.ask, one.live.step, one.live.build) == (Ask.ADD, "seeds", 1)
    assert one.live.net_g == pytest.approx(0.0, abs=0.5)


def test_yes_to_whether_a_step_is_in_leads_to_what_it_lacks_and_a_second_key_ends_it(
    cook: Hire,
) -> None:
    one = cook().start().put(40.0)
    one.put(one.lift() + 150.0)  # what came along is nobody's
    assert (one.live.ask, one.live.step) == (Ask.CHECK, "grain")
    one.tell(Next())
    assert (one.live.ask, one.live.step) == (Ask.ADD, "grain")
    assert one.live.amount_g == pytest.approx(80.0, abs=0.5)
    assert one.told(Portion) == []
    one.tell(Next())
    assert (one.live.ask, one.live.step) == (Ask.ADD, "beans")
    assert one.portion("grain").verdict is Verdict.UNSURE


def test_undo_needs_a_step_that_is_done(cook: Hire) -> None:
    assert "no step" in refusal(cook().start().put(40.0), Undo()).reason


def test_undo_does_not_reach_into_the_build_before(cook: Hire) -> None:
    one = cook().build(*CLEAN).start()
    assert refusal(one, Undo()).command == "undo"


# Confirm and note.


def test_a_check_is_answered(cook: Hire) -> None:
    one = cook().start()
    waiting = [one.live.confirms]
    for check, held in (("lid", True), ("label", False)):
        (said,) = one.tell(Confirm(check, held))
        assert said == Confirmed(t=one.scale.t, build=1, confirm=check, held=held)
        waiting.append(one.live.confirms)
    assert waiting == [("lid", "label"), ("label",), ()]


def test_every_build_asks_its_checks_anew(cook: Hire) -> None:
    one = cook().start()
    one.tell(Confirm("lid"))
    one.put(40.0, 40.0, 40.0)
    one.lift()
    one.put(BOWL_G)
    assert one.live.build == 2
    assert one.live.confirms == ("lid", "label")


def test_an_unknown_check_is_refused_with_the_known_ones(cook: Hire) -> None:
    reason = refusal(cook().start(), Confirm("spoon")).reason
    assert all(name in reason for name in ("spoon", "lid", "label"))


def test_a_remark_is_kept_as_written_at_any_time(cook: Hire) -> None:
    one = cook()
    text = 'dropped a lid, "again"\nand more'
    assert one.tell(Note(text)) == [Noted(t=0.0, build=0, text=text)]
    one.start()
    assert one.tell(Note(text)) == [Noted(t=one.scale.t, build=1, text=text)]


def test_undo_while_the_bowl_is_away_asks_it_back(cook: Hire) -> None:
    one = cook().start().put(*GRAIN).wait(1.0).put(60.0).wait(1.0).put(30.0)
    one.lift(off_s=1.5)
    try:
        one.tell(Undo())
    except CommandRefused:
        return
    assert one.live.ask is Ask.RETURN
    assert one.live.total_net_g == pytest.approx(210.0, abs=1.0)


def test_undo_after_the_tare_key_still_knows_the_food(cook: Hire) -> None:
    one = cook().start().put(*GRAIN).wait(1.0).put(60.0)
    one.scale.jump(-200.0)
    one.wait(2.0)
    one.tell(Undo())
    assert one.live.step == "grain"
    assert one.live.net_g == pytest.approx(180.0, abs=1.0)


def test_undo_takes_back_a_next_that_still_waits(cook: Hire) -> None:
    one = cook().start().put(*GRAIN).wait(1.0).put(60.0)
    one.put(30.0, pause_s=0.0)
    one.tell(Next())
    one.tell(Undo())
    one.wait(2.0)
    # Undo answers the key before it: nothing else is closed or reopened.
    assert [portion.step for portion in one.told(Portion)] == ["grain", "beans"]


@pytest.mark.parametrize("bowl_g", [12.0, 15.0, 30.0, 36.0, 45.0])
def test_undo_before_the_next_build_has_begun_takes_nothing_of_the_last_one_back(
    cook: Hire, bowl_g: float
) -> None:
    one = cook().build(*CLEAN).put(bowl_g)
    with suppress(CommandRefused):
        one.tell(Undo())
    one.put(*GRAIN).put(60.0).close()
    assert one.told(Reopened) == []
    assert [said.build for said in one.told(Finished)] == [1, 2]
    assert {said.step for said in one.told(Portion) if said.build == 2} >= {"grain", "beans"}


def test_a_stream_that_ends_as_the_next_container_may_stand_there_ends_the_last_build(
    cook: Hire,
) -> None:
    one = cook().start().put(*GRAIN)
    one.lift(off_s=2.0)
    one.put(24.0).close()
    assert one.verdicts()["grain"] == "pass"
    assert one.finished().build == 1
