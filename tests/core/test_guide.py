"""What the screen speaks from: a cook who does what it says is not led astray by doubts."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from scaled.core.belief import Belief, Mode
from scaled.core.events import Attribution
from scaled.core.guide import OBEYS, Guide, story
from scaled.core.live import Ask
from scaled.core.plan import Plan
from scaled.core.rest import Rest
from scaled.core.track import Tracker
from tests.core.scripted import dish

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
    assert guided(*levels_g).beliefs == believed(*rests).beliefs


def test_what_is_asked_for_is_likelier() -> None:
    free, asked = guided(60.0, 101.0), guided(60.0, 101.0)
    asked.lead([((0,),)])
    for guide in (free, asked):
        guide.take(rest(163.0, 12.0), believed())
    before, after = chance(free, (0,)), chance(asked, (0,))
    assert after / (1 - after) == pytest.approx(OBEYS * before / (1 - before), rel=0.05)


def test_what_cannot_be_explained_so_is_believed_all_the_same() -> None:
    guide = guided(60.0, 101.0, 140.0)
    guide.lead([((0,),)])
    guide.take(rest(200.0, 15.0), believed())
    assert guide.best is not None
    assert guide.best.group == (1,)
    assert guide.confidence > 0.5


def test_a_guide_that_follows_forgets_what_it_asked_for() -> None:
    guide, tracker = guided(60.0), guided(60.0, 101.0)
    guide.lead([((3,),)])
    guide.follow(tracker)
    assert guide.beliefs == tracker.beliefs
    for one in (guide, tracker):
        one.take(rest(140.0, 15.0), believed())
    assert guide.beliefs == tracker.beliefs


def test_a_shoulder_is_no_answer_to_what_was_asked() -> None:
    guide, tracker = guided(60.0, 101.0), guided(60.0, 101.0)
    guide.lead([((0,),)])
    shoulder = replace(rest(130.0, 12.0), settled=False)
    for one in (guide, tracker):
        one.take(shoulder, believed())
    assert guide.beliefs == tracker.beliefs


def test_a_story_tells_the_steps_in_the_order_they_were_done() -> None:
    belief = Belief(Mode.ON, 0.0, 20.0, 0.3, group=(2,), ahead=(0, 3), gestures=1)
    assert story(belief) == ((2,),)
    assert story(belief.opened((0, 3))) == ((2,), (0, 3))


# On a scripted scale.


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
