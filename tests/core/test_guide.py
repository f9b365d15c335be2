"""What the screen speaks from: a cook who does what it says is not led astray by doubts."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from scaled.core.belief import Belief, Mode
from scaled.core.command import Undo
from scaled.core.events import Attribution, Finished
from scaled.core.guide import OBEYS, READ_S, UNLIKELY, Guide, Led, story
from scaled.core.live import Ask
from scaled.core.plan import Plan
from scaled.core.rest import Rest
from scaled.core.track import Tracker
from tests.core.scripted import CLEAN, GRAIN, dish
from tests.core.scripted_scale import Scale

if TYPE_CHECKING:
    from tests.core.scripted import Hire

PLAN = Plan.of(dish())


def guided(*levels_g: float) -> Guide:
    """A guide that saw an empty pan, the bowl, and these levels; nothing was asked for."""
    guide = Guide(PLAN)
    for n, level_g in enumerate((0.0, 20.0, *levels_g)):
        guide.take(rest(level_g, 3.0 * n), believed(rest(0.0, 0.0)))
    return guide


def believed(*rests: Rest) -> Tracker:
    tracker = Tracker(PLAN)
    for one in rests:
        tracker.advance(one)
    return tracker


def rest(level_g: float, begin_s: float) -> Rest:
    return Rest(begin_s, begin_s + 0.5, level_g, 0.4, pause_s=1.5)


def chance(guide: Tracker, group: tuple[int, ...]) -> float:
    return guide.probability(lambda belief: belief.group == group)


def test_before_any_rest_nothing_is_known() -> None:
    assert Guide(PLAN).confidence == 0.0


def test_a_cook_who_is_asked_for_nothing_is_any_cook() -> None:
    levels_g = (60.0, 101.0, 147.0)
    rests = [rest(level_g, 3.0 * n) for n, level_g in enumerate((0.0, 20.0, *levels_g))]
    chances = {belief: chance for chance, belief in believed(*rests).beliefs}
    for chance, belief in guided(*levels_g).beliefs:
        assert chance == pytest.approx(chances[belief], rel=0.02)


def test_a_screen_speaks_from_what_is_likely_alone() -> None:
    levels_g = (60.0, 101.0, 147.0)
    rests = [rest(level_g, 3.0 * n) for n, level_g in enumerate((0.0, 20.0, *levels_g))]
    chances = [chance for chance, _ in believed(*rests).beliefs]
    likely = [chance for chance in chances if chance >= UNLIKELY * chances[0]]
    assert len(guided(*levels_g).beliefs) == len(likely) < len(chances)


def test_what_is_asked_for_counts_before_anything_is_hopeless() -> None:
    free, asked = guided(60.0, 101.0), guided(60.0, 101.0)
    asked.lead(Led((((0,), (1,)),)), 9.0)
    for guide in (free, asked):
        guide.take(rest(134.0, 12.0), believed())
    assert chance(free, (1,)) == 0.0
    assert chance(asked, (1,)) > UNLIKELY


def test_what_is_asked_for_is_likelier() -> None:
    free, asked = guided(60.0, 101.0), guided(60.0, 101.0)
    asked.lead(Led((((0,),),)), 9.0)
    for guide in (free, asked):
        guide.take(rest(172.0, 12.0), believed())
    before, after = chance(free, (0,)), chance(asked, (0,))
    assert after / (1 - after) == pytest.approx(OBEYS * before / (1 - before), rel=0.05)


def test_who_has_not_done_anything_yet_has_done_nothing_else() -> None:
    free, asked = guided(60.0, 101.0, 140.0), guided(60.0, 101.0, 140.0)
    asked.lead(Led((((0,), (1,)),)), 12.0)
    for guide in (free, asked):
        guide.take(rest(150.0, 15.0), believed())
    more = [g.probability(lambda b: b.group == (0,) and b.gestures == 4) for g in (free, asked)]
    still = [g.probability(lambda b: b.group == (0,) and b.gestures == 3) for g in (free, asked)]
    assert still[1] / more[1] == pytest.approx(OBEYS * still[0] / more[0])


@pytest.mark.parametrize(("stood_s", "odds"), [(READ_S + 0.1, OBEYS), (READ_S - 0.1, 1.0)])
def test_what_nobody_can_have_read_is_not_obeyed(stood_s: float, odds: float) -> None:
    free, asked = guided(60.0, 101.0), guided(60.0, 101.0)
    asked.lead(Led((((0,),),)), 10.5 - stood_s)  # the rest at 9 s lasts 1.5 s
    for guide in (free, asked):
        guide.take(rest(172.0, 12.0), believed())
    before, after = chance(free, (0,)), chance(asked, (0,))
    assert after / (1 - after) == pytest.approx(odds * before / (1 - before), rel=0.05)


def test_what_was_asked_before_it_still_is() -> None:
    one, other = guided(60.0, 101.0), guided(60.0, 101.0)
    for guide in (one, other):
        guide.lead(Led((((0,),),)), 9.0)
        guide.take(rest(106.0, 12.0), believed())
    one.lead(Led((((0,), (1,)),)), 13.4)  # and at 13.5 s the pan moves
    for guide in (one, other):
        guide.take(rest(163.0, 15.0), believed())
    assert one.beliefs == other.beliefs


def test_the_same_word_said_again_stands_since_it_was_said_first() -> None:
    asked, again = guided(60.0, 101.0), guided(60.0, 101.0)
    for guide in (asked, again):
        guide.lead(Led((((0,),),)), 9.0)
    again.lead(Led((((0,),),)), 10.4)
    for guide in (asked, again):
        guide.take(rest(172.0, 12.0), believed())
    assert again.beliefs == asked.beliefs


def test_a_word_that_stays_the_same_after_a_gesture_is_read_anew() -> None:
    """While something is strewn the step becomes good, and the next word is not read yet."""
    guide = guided(60.0, 101.0)
    guide.lead(Led((((0,),),)), 6.5)
    for level_g, begin_s, pause_s in ((135.0, 12.0, 1.5), (137.0, 12.9, 0.4), (139.5, 13.6, 0.3)):
        guide.take(rest(level_g, begin_s)._replace(pause_s=pause_s), believed())
        guide.lead(Led((((0,), (1,)),), good=True), begin_s + 0.3)
    assert chance(guide, (0,)) > 0.9


def test_what_is_in_the_step_was_called_good_until_something_is_done_to_it() -> None:
    guide = guided(60.0, 101.0, 140.0)
    called = [guide.called_good]
    guide.lead(Led((((0,), (1,)),), good=True), 12.0)
    called.append(guide.called_good)
    for level_g, begin_s in ((140.2, 15.0), (200.0, 18.0)):
        guide.take(rest(level_g, begin_s), believed())
        called.append(guide.called_good)
    assert called == [False, True, True, False]


def test_who_is_told_to_take_the_build_away_takes_it() -> None:
    free, told = (guided(60.0, 101.0, 140.0, 200.0, 230.0, 242.0) for _ in range(2))
    told.lead(Led((((0,), (1,), (2,), (3,)),), lifts=True, good=True), 21.0)
    gone = rest(0.0, 24.0)
    for guide in (free, told):
        guide.take(gone._replace(abrupt=True, load_abrupt=0.05), believed())
    off = [guide.probability(lambda b: b.mode is Mode.OFF) for guide in (free, told)]
    assert off[0] < 0.9
    assert off[1] > 0.99
    assert told.called_good


@pytest.mark.parametrize("asked", [False, True])
def test_who_is_asked_for_an_empty_container_sets_down_an_empty_one(
    asked: bool,
) -> None:
    guide = Guide(PLAN)
    guide.take(rest(0.0, 0.0), believed(rest(0.0, 0.0)))
    guide.lead(Led(places=asked), 0.5)
    guide.take(rest(35.0, 3.0), believed())
    empty = guide.probability(lambda b: b.mode is Mode.ON and b.fresh and not b.gestures)
    assert empty > 0.8 if asked else empty < 0.7
    full = guide.probability(lambda b: b.gestures > 0)
    guide.begin(guide)
    fed = guide.probability(lambda b: b.gestures > 0)
    assert fed < 1.2 * full / OBEYS if asked else fed == pytest.approx(full)


@pytest.mark.parametrize(("level_g", "likelier"), [(8.0, False), (12.0, True)])
def test_a_flicker_is_no_container_that_was_asked_for(level_g: float, likelier: bool) -> None:
    chances = []
    for asked in (False, True):
        guide = Guide(PLAN)  # its bowl weighs 20 g
        guide.take(rest(0.0, 0.0), believed(rest(0.0, 0.0)))
        guide.lead(Led(places=asked), 0.5)
        guide.take(rest(level_g, 3.0), believed())
        chances.append(guide.probability(lambda b: b.mode is Mode.ON and not b.gestures))
    assert (chances[1] > 1.1 * chances[0]) == likelier


def test_a_bare_pan_seen_again_is_no_container_that_stood_there_all_along() -> None:
    """Whoever was asked for a container has not brought one yet."""
    guide = Guide(PLAN)
    guide.take(rest(0.0, 0.0), believed(rest(0.0, 0.0)))
    for n in range(1, 4):
        guide.lead(Led(places=True), 5.0 * n - 4.0)
        guide.take(rest(0.0, 5.0 * n)._replace(unseen_s=3.0), believed())
        assert guide.probability(lambda b: b.mode is Mode.EMPTY) > 0.9


@pytest.mark.parametrize("off_s", [1.5, 4.0])
@pytest.mark.parametrize("key", [False, True])
def test_whoever_presses_the_key_over_a_free_pan_is_still_asked_for_a_container(
    cook: Hire, key: bool, off_s: float
) -> None:
    """The zero lies one bowl too low; on a coarse scale bowl and key show the same."""
    one = cook(dish(('tare = "20 g"', 'tare = "15 g"')), Scale(division=5.0, rate_hz=5), 5.0)
    one.start(15.0)
    one.scale.jump(-15.0)
    one.wait(2.0)
    for portion in CLEAN:
        one.put(*portion)
    one.lift(off_s)
    assert (one.live.ask, one.live.pan_g) == (Ask.PLACE, 0.0)
    if key:
        one.scale.jump(15.0)
        one.wait(2.0)
    else:
        one.put(15.0)
    assert (one.live.settled, one.live.ask) == (True, Ask.PLACE)
    if not key:
        one.lift()
    one.put(15.0)
    assert (one.live.ask, one.live.step) == (Ask.ADD, "grain")
    one.put(*GRAIN)
    assert (one.live.ask, one.live.build) == (Ask.NEXT, 2)
    assert one.live.net_g == pytest.approx(120.0, abs=5.0)


def test_a_tool_laid_on_the_pan_puts_no_display_right() -> None:
    """What a hand laid there is nothing that a cook asked for a container has done."""
    laid = []
    for asked in (False, True):
        guide = Guide(PLAN)
        guide.take(rest(-30.0, 0.0), believed(rest(-30.0, 0.0)))
        guide.lead(Led(places=asked), 0.5)
        guide.take(rest(0.0, 3.0), believed())  # no jump was seen
        laid.append(guide.probability(lambda b: b.mode is Mode.EMPTY and b.level_g != b.zero_g))
    assert laid[0] > 0.005
    assert laid[1] < 1.5 * laid[0] / OBEYS


def test_what_is_asked_counts_until_something_else_is() -> None:
    """A second movement before the screen could ask again answers the same word."""
    asked, free = guided(60.0, 101.0), guided(60.0, 101.0)
    asked.lead(Led((((0,),),)), 9.0)
    for guide in (asked, free):
        guide.take(rest(106.0, 12.0)._replace(settled=False, doubt=0.2), believed())
        guide.take(rest(163.0, 15.0), believed())
    assert chance(asked, (0,)) > chance(free, (0,))


def test_a_step_begun_is_another_place_than_one_that_holds_nothing() -> None:
    guide = guided()
    base = guide.beliefs[0][1]
    guide.beliefs = (
        (0.4, base._replace(gestures=1)),
        (0.35, base),
        (0.25, base._replace(zero_g=1)),
    )
    assert guide.best == base
    assert guide.confidence == pytest.approx(0.6)


def test_the_screen_speaks_of_the_likeliest_place_not_of_the_likeliest_belief() -> None:
    guide = guided()
    on = guide.beliefs[0][1]
    off = on.lifted(0.0)
    guide.beliefs = ((0.4, on), (0.35, off), (0.25, off._replace(base_g=off.base_g + 0.1)))
    assert guide.best == off
    assert guide.confidence == pytest.approx(0.6)


def test_what_cannot_be_explained_so_is_believed_all_the_same() -> None:
    guide = guided(60.0, 101.0, 140.0)
    guide.lead(Led((((0,),),)), 12.0)
    guide.take(rest(200.0, 15.0), believed())
    assert guide.best is not None
    assert guide.best.group == (1,)
    assert guide.confidence > 0.5


def test_a_guide_that_follows_forgets_what_it_asked_for() -> None:
    guide, tracker = guided(60.0), guided(60.0, 101.0)
    guide.lead(Led((((3,),),)), 6.0)
    guide.follow(tracker)
    assert guide.beliefs == tracker.beliefs
    for one in (guide, tracker):
        one.take(rest(140.0, 15.0), believed())
    assert guide.beliefs == tracker.beliefs


def test_a_shoulder_is_no_answer_to_what_was_asked() -> None:
    guide, tracker = guided(60.0, 101.0), guided(60.0, 101.0)
    guide.lead(Led((((0,),),)), 9.0)
    shoulder = rest(130.0, 12.0)._replace(settled=False, doubt=0.2)
    for one in (guide, tracker):
        one.take(shoulder, believed())
    assert guide.beliefs == tracker.beliefs


def test_a_story_tells_the_steps_in_the_order_they_were_done() -> None:
    belief = Belief(Mode.ON, 0.0, 20.0, 0.3, group=(2,), ahead=(0, 3), gestures=1)
    assert story(belief) == ((2,),)
    assert story(belief.opened((0, 3))) == ((2,), (0, 3))


# On a scripted scale.


def test_whoever_waited_before_the_next_build_is_asked_for_its_container_all_the_same(
    cook: Hire,
) -> None:
    one = cook().build(*CLEAN).put(35.0)  # its own bowl weighs 20 g
    assert one.told(Finished)
    assert (one.live.ask, one.live.step, one.live.net_g) == (Ask.ADD, "grain", 0.0)


def test_a_large_correction_made_as_asked_is_not_taken_for_the_next_step(cook: Hire) -> None:
    one = cook().start().put(40.0, 41.0)
    # Half as much again as was asked for; alone it might be the 60 g of beans.
    one.put(58.0)
    assert (one.live.ask, one.live.step) == (Ask.TAKE_BACK, "grain")
    one.take(19.0)
    assert (one.live.ask, one.live.step, one.live.next_step) == (Ask.NEXT, "grain", "beans")
    one.put(60.0)
    assert (one.live.ask, one.live.next_step) == (Ask.NEXT, "sauce")
    one.put(30.0).put(12.0)
    assert one.live.next_step is None


def test_food_strewn_for_seconds_is_one_answer(cook: Hire) -> None:
    one = cook().start().put(40.0, 41.0)
    # On its way it almost stands still where the step would be good.
    one.put(33.0, pause_s=0.3).put(32.0)
    assert (one.live.ask, one.live.step) == (Ask.TAKE_BACK, "grain")


def test_a_guess_that_helps_the_cook_makes_no_word_final(cook: Hire) -> None:
    one = cook().start().put(40.0, 41.0, 58.0)
    assert one.live.step == "grain"
    assert one.live.confidence > one.settled().confidence
    one.lift(off_s=1.0)
    one.close()
    assert one.portion("grain").attribution is not Attribution.SURE


def test_strewing_that_pauses_where_the_step_is_good_goes_on_in_it(cook: Hire) -> None:
    one = cook().start().put(*GRAIN).put(60.0).put(28.0, pause_s=0.9).put(7.0)
    # For half a second the sauce was good, and the seeds asked for.
    assert Ask.NEXT in {now.ask for now in one.lives[-45:] if now.step == "sauce"}
    assert one.live.step == "sauce"
    assert one.live.net_g == pytest.approx(35.0, abs=1.0)


def test_a_hand_on_the_bowl_while_food_is_to_come_off_begins_nothing(cook: Hire) -> None:
    one = cook().start().put(*GRAIN).put(80.0)
    assert (one.live.ask, one.live.step) == (Ask.TAKE_BACK, "beans")
    one.press(29.0, for_s=0.7)  # as heavy as the sauce
    assert (one.live.ask, one.live.step) == (Ask.TAKE_BACK, "beans")
    assert one.live.amount_g == pytest.approx(20.0, abs=0.5)


def test_a_key_lets_the_screen_lead_at_once(cook: Hire) -> None:
    one = cook().start().put(*GRAIN).put(20.0)
    one.tell(Undo())
    assert (one.live.ask, one.live.step) == (Ask.TAKE_BACK, "grain")
    one.wait(1.0).take(18.0)
    assert (one.live.ask, one.live.step) == (Ask.NEXT, "grain")


def test_a_build_that_the_screen_asks_back_is_waited_for(cook: Hire) -> None:
    one = cook().start().put(*GRAIN).put(60.0, 25.0, 9.0)
    assert (one.live.ask, one.live.step) == (Ask.TAKE_BACK, "sauce")
    one.lift(off_s=4.0)  # alone it would be complete: too little sauce, and the seeds
    assert (one.live.ask, one.told(Finished)) == (Ask.RETURN, [])
    one.put(234.0)
    assert (one.live.ask, one.live.step) == (Ask.TAKE_BACK, "sauce")


def test_a_lift_is_no_answer_to_what_was_asked() -> None:
    free, asked = (guided(60.0, 101.0, 140.0, 200.0, 230.0) for _ in range(2))
    asked.lead(Led((((0,), (1,), (2,), (3,)),)), 18.0)
    hasty = rest(0.0, 21.0)._replace(peak_g=240.0)  # the last step may have been done before it
    for guide in (free, asked):
        guide.take(hasty, believed())
    assert chance(asked, (3,)) < chance(free, (3,))
