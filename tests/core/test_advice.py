"""The live state: the one thing to do next, and how much of it."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import pytest

from scaled.core import set_down
from scaled.core.advice import Scene, asks_whether_in, led, live
from scaled.core.belief import Belief, Mode, empty
from scaled.core.command import Next, Undo
from scaled.core.completion import complete
from scaled.core.events import Attribution, Finished, Portion, Verdict
from scaled.core.guide import Led
from scaled.core.ledger import Ledger
from scaled.core.level import Level
from scaled.core.live import Ask, Odd, Provisional, Rung, StepState
from scaled.core.plan import Plan
from scaled.core.rest import Rest
from scaled.core.share import Share
from tests.core.scripted import GRAIN, STEPS, dish
from tests.core.scripted_scale import Scale

if TYPE_CHECKING:
    from scaled.core.guide import Story
    from tests.core.scripted import Hire

PLAN = Plan.of(dish())


# On a scripted scale.


def test_an_empty_scale_asks_for_the_container(cook: Hire) -> None:
    now = cook().wait(2.0).live
    assert now.ask is Ask.PLACE
    assert (now.build, now.step, now.next_step) == (0, None, None)
    assert now.pan_g == pytest.approx(0.0, abs=0.5)
    assert {rung.state for rung in now.ladder} == {StepState.TODO}


def test_a_container_asks_for_the_first_step(cook: Hire) -> None:
    now = cook().start().live
    assert now.ask is Ask.ADD
    assert (now.build, now.step, now.next_step) == (1, "grain", "beans")
    assert now.net_g == pytest.approx(0.0, abs=0.5)
    assert now.total_net_g == pytest.approx(0.0, abs=0.5)
    assert now.amount_g == pytest.approx(120.0, abs=0.5)
    assert now.scoops == 3
    assert now.pan_g == pytest.approx(20.0, abs=0.5)
    assert now.settled
    assert now.confidence > 0.9


@pytest.mark.parametrize(("scoops", "to_go_g", "left"), [(1, 80.0, 2), (2, 39.0, 1)])
def test_an_unfinished_step_asks_for_what_is_missing(
    cook: Hire, scoops: int, to_go_g: float, left: int
) -> None:
    now = cook().start().put(*GRAIN[:scoops]).live
    assert now.ask is Ask.ADD
    assert now.step == "grain"
    assert now.amount_g == pytest.approx(to_go_g, abs=0.5)
    assert now.scoops == left
    assert now.net_g == pytest.approx(120.0 - to_go_g, abs=0.5)


def test_a_bowl_being_lifted_asks_for_nothing_until_it_rests() -> None:
    base = set_down.started(empty(0.0, 0.4), Rest(0.0, 0.5, 20.0, 0.4), len(PLAN.steps), None)
    for weight_g, ask in ((19.0, Ask.ADD), (8.0, Ask.WAIT)):
        seen = replace(scene(base, weight_g, resting=False), left=False)
        assert live(seen).ask is ask


def test_a_missing_crumb_is_still_one_gesture(cook: Hire) -> None:
    now = cook().start().put(40.0, 40.0, 28.0).live
    assert now.ask is Ask.ADD
    assert now.amount_g == pytest.approx(12.0, abs=0.5)
    assert now.scoops == 1


def test_a_good_step_asks_for_the_next(cook: Hire) -> None:
    now = cook().start().put(*GRAIN).live
    assert now.ask is Ask.NEXT
    assert (now.step, now.next_step) == ("grain", "beans")
    # Good so far, and not final: that has to wait until the next step begins.
    assert now.ladder[0].state is StepState.OPEN
    assert now.ladder[0].net_g == pytest.approx(120.0, abs=0.5)


def test_too_much_asks_for_some_of_it_back(cook: Hire) -> None:
    now = cook().start().put(*GRAIN).wait(1.0).put(60.0, 30.0, 22.0).live
    assert now.ask is Ask.TAKE_BACK
    assert now.step == "seeds"
    assert now.amount_g == pytest.approx(10.0, abs=0.5)


def test_a_complete_build_may_go(cook: Hire) -> None:
    now = cook().start().put(*GRAIN).wait(1.0).put(60.0, 30.0, 12.0).live
    assert now.ask is Ask.LIFT
    assert (now.step, now.next_step) == ("seeds", None)
    assert now.total_net_g == pytest.approx(222.0, abs=0.5)


def test_a_build_taken_away_with_steps_to_go_is_asked_back(cook: Hire) -> None:
    one = cook().start().put(*GRAIN).wait(1.0).put(60.0)
    one.lift()
    assert one.live.ask is Ask.RETURN
    assert one.live.step == "beans"
    assert one.live.total_net_g == pytest.approx(180.0, abs=0.5)
    assert one.live.pan_g == pytest.approx(0.0, abs=0.5)


def test_a_complete_build_taken_away_asks_for_the_next_container(cook: Hire) -> None:
    one = cook().start().put(*GRAIN).wait(1.0).put(60.0, 30.0, 12.0)
    one.lift(off_s=1.0)
    assert one.live.ask is Ask.PLACE
    one.wait(3.0)
    assert one.told(Finished)
    assert one.live.ask is Ask.PLACE
    assert one.live.step is None


def test_moving_food_shows_in_the_step_at_once(cook: Hire) -> None:
    one = cook().start()
    seen = len(one.lives)
    one.put(40.0, in_s=1.0, pause_s=1.0)
    weights = [now.net_g for now in one.lives[seen:]]
    assert weights == sorted(weights)
    assert len(set(weights)) > 5
    assert {now.step for now in one.lives[seen:]} == {"grain"}
    assert not all(now.settled for now in one.lives[seen:])


def test_food_that_moves_after_a_good_step_shows_in_the_next(cook: Hire) -> None:
    one = cook().start().put(*GRAIN).wait(1.0)
    seen = len(one.lives)
    one.put(60.0, in_s=0.5, pause_s=0.2)
    moving = one.lives[-1]
    assert moving.step == "beans"
    assert moving.net_g == pytest.approx(60.0, abs=6.0)
    assert {now.ask for now in one.lives[seen:]} <= {Ask.NEXT, Ask.WAIT}


def test_food_that_moves_while_more_is_asked_for_shows_in_the_same_step(cook: Hire) -> None:
    one = cook().start().put(40.0, 41.0, 26.0).wait(1.0)
    seen = len(one.lives)
    one.put(12.0, in_s=0.5)
    assert {now.step for now in one.lives[seen:]} == {"grain"}
    assert (one.lives[seen - 1].ask, one.live.ask) == (Ask.ADD, Ask.NEXT)


def test_nothing_but_waiting_is_asked_for_while_food_moves(cook: Hire) -> None:
    one = cook().start().put(40.0)
    seen = len(one.lives)
    one.put(41.0, in_s=0.6, pause_s=1.5)
    asked = [(now.ask, round(now.amount_g)) for now in one.lives[seen:]]
    assert list(dict.fromkeys(asked)) == [(Ask.WAIT, 0), (Ask.ADD, 39)]


def test_a_container_set_down_asks_to_wait_until_it_rests(cook: Hire) -> None:
    one = cook().wait(2.0)
    seen = len(one.lives)
    one.put(20.0)
    asked = list(dict.fromkeys(now.ask for now in one.lives[seen:]))
    assert asked[-2:] == [Ask.WAIT, Ask.ADD]
    load_g = one.lift()
    seen = len(one.lives) - 1
    one.put(load_g)
    asked = list(dict.fromkeys(now.ask for now in one.lives[seen:]))
    assert asked == [Ask.RETURN, Ask.WAIT, Ask.ADD]


def test_a_hand_on_the_bowl_takes_nothing_back(cook: Hire) -> None:
    one = cook().start().put(40.0)
    seen = len(one.lives)
    one.press(400.0, for_s=0.15)
    asked = {now.ask for now in one.lives[seen:]}
    assert Ask.WAIT in asked
    assert Ask.TAKE_BACK not in asked
    assert one.live.ask is Ask.ADD
    assert one.live.amount_g == pytest.approx(80.0, abs=0.5)


def test_a_step_that_is_not_finished_is_never_called_under(cook: Hire) -> None:
    one = cook().start().put(30.0, 30.0).press(100.0)
    for now in one.lives:
        assert now.ladder[0].state is not StepState.DONE
        assert all(rung.verdict is None for rung in now.ladder)
    assert one.live.ask is Ask.ADD


def test_the_ladder_shows_final_words_as_they_were_said(cook: Hire) -> None:
    one = cook().start().put(40.0, 40.0)
    one.tell(Next())
    one.tell(Next())
    one.put(30.0)
    grain, beans, sauce, seeds = one.live.ladder
    assert (grain.state, grain.verdict, grain.skipped) == (StepState.DONE, Verdict.UNDER, False)
    assert grain.net_g == pytest.approx(80.0, abs=0.5)
    assert grain.attribution is Attribution.SURE
    assert (beans.state, beans.verdict, beans.skipped) == (StepState.DONE, Verdict.UNDER, True)
    assert (sauce.state, sauce.verdict) == (StepState.OPEN, None)
    assert seeds == Rung("seeds")


def test_a_flicker_of_a_coarse_display_changes_no_advice(cook: Hire) -> None:
    one = cook(scale=Scale(division=5.0, rate_hz=5), division_g=5.0).start()
    one.put(40.0, 40.0, 34.0, pause_s=3.0)
    seen = len(one.lives)
    for by_g in (-4.0, 4.0) * 6:
        one.scale.jump(by_g)
        one.wait(1.2)
    assert {now.ask for now in one.lives[seen:]} - {Ask.WAIT} == {one.lives[seen].ask}


# By hand-made moments.


def belief(
    net_g: float, group: tuple[int, ...] = (0,), ahead: tuple[int, ...] = (1, 2, 3)
) -> Belief:
    return Belief(
        mode=Mode.ON, zero_g=0.0, level_g=20.0 + net_g, level_u_g=0.3, base_g=20.0,
        base_u_g=0.3, group=group, ahead=ahead, start_g=20.0, start_u_g=0.3,
        gestures=3 if net_g else 0,
    )  # fmt: skip


def scene(
    best: Belief | None,
    weight_g: float | None = None,
    *,
    resting: bool = True,
    firm: bool = True,
    coming: Level | None = None,
) -> Scene:
    shown_g = (0.0 if best is None else best.level_g) if weight_g is None else weight_g
    return Scene(
        best=best, confidence=1.0, stands=1.0, called_good=False, asked_s=0.0, plan=PLAN,
        ledger=Ledger(PLAN, 1, 0.0), t=7.5,
        weight_g=shown_g, resting=resting, since_s=0.0, firm=firm, left=not resting,
        coming=coming, division_g=1.0,
    )  # fmt: skip


@pytest.mark.parametrize(("since_s", "ask"), [(6.5, Ask.WAIT), (4.5, Ask.ADD)])
def test_a_hand_on_the_bowl_is_waited_for_but_not_a_tool_that_leans_on_it(
    since_s: float, ask: Ask
) -> None:
    pressed = replace(scene(belief(80.0), 140.0), since_s=since_s)
    assert live(pressed).ask is ask
    assert (led(pressed) is None) == (ask is Ask.WAIT)


def test_where_a_moving_weight_is_going_is_told_for_the_step_shown() -> None:
    now = live(scene(belief(80.0), 135.0, resting=False, coming=Level(1.0, 139.5, 0.4)))
    assert now.net_g == 115.0
    assert now.provisional == Provisional(119.5, 0.5)  # 0.4 and the start's 0.3 in quadrature


def test_where_a_weight_is_going_is_not_told_without_a_step() -> None:
    coming = Level(1.0, 20.0, 0.4)
    assert live(scene(None, 15.0, resting=False, coming=coming)).provisional is None
    off = belief(80.0).lifted(0.0)
    assert live(scene(off, 15.0, resting=False, coming=coming)).provisional is None
    assert live(scene(belief(80.0), 100.0)).provisional is None


def test_a_cook_sees_where_a_scoop_is_going_before_it_has_settled(cook: Hire) -> None:
    one = cook(scale=Scale(rate_hz=20)).start().put(40.0)
    rough = [look for look in one.lives if look.provisional is not None and look.step == "grain"]
    assert len(rough) >= 3
    assert not any(look.settled for look in rough)
    for look in rough:
        assert look.provisional is not None
        assert abs(look.provisional.net_g - 40.0) < 3 * look.provisional.u_g


def test_before_any_rest_the_container_is_asked_for() -> None:
    now = live(scene(None, 3.0))
    assert now.ask is Ask.PLACE
    assert now.pan_g == 3.0
    assert tuple(rung.step for rung in now.ladder) == STEPS


def test_a_doubtful_step_asks_for_a_look() -> None:
    now = live(replace(scene(belief(60.0)), confidence=0.4))
    assert now.ask is Ask.CHECK
    assert now.amount_g == 0.0
    assert now.scoops == 0
    assert now.confidence == 0.4


def test_too_much_that_still_moves_waits() -> None:
    assert live(scene(belief(40.0), 300.0, resting=False)).ask is Ask.WAIT


@pytest.mark.parametrize(
    ("net_g", "ask"),
    [(111.6, Ask.ADD), (111.7, Ask.NEXT), (128.3, Ask.NEXT), (128.4, Ask.TAKE_BACK)],
)
def test_a_portion_is_good_when_it_is_clear_of_its_limits(net_g: float, ask: Ask) -> None:
    # 111 g to 129 g with u = 0.3 g for each of two levels: 1.5 u = 0.64 g.
    now = live(scene(belief(net_g)))
    assert (now.low_g, now.high_g) == (111.0, 129.0)
    assert now.ask is ask
    wanted = abs(120.0 - net_g) if ask in {Ask.ADD, Ask.TAKE_BACK} else 0.0
    assert now.amount_g == pytest.approx(wanted)


@pytest.mark.parametrize(
    ("net_g", "ask"), [(9.8, Ask.ADD), (10.0, Ask.LIFT), (14.2, Ask.TAKE_BACK)]
)
def test_an_uncertain_weight_leaves_most_of_a_narrow_step_good(net_g: float, ask: Ask) -> None:
    # 9 g to 15 g with u = 1.4 g: a third of what is allowed, not 1.5 u = 2.1 g.
    vague = belief(net_g, group=(3,), ahead=())._replace(level_u_g=1.0, start_u_g=1.0)
    assert live(scene(vague)).ask is ask


@pytest.mark.parametrize(
    ("net_g", "ask"), [(5.0, Ask.ADD), (15.0, Ask.LIFT), (20.0, Ask.TAKE_BACK)]
)
def test_no_more_is_asked_for_than_the_display_can_show(net_g: float, ask: Ask) -> None:
    # 12 g in steps of 5 g: what is shown is good within one of them.
    coarse = replace(scene(belief(net_g, group=(3,), ahead=())), division_g=5.0)
    assert live(coarse).ask is ask


@pytest.mark.parametrize(
    ("division_g", "net_g", "asks"),
    [
        (1.0, 113.0, {Ask.NEXT}),
        (1.0, 111.3, {Ask.ADD, Ask.NEXT}),
        (1.0, 110.9, {Ask.ADD}),
        (1.0, 128.9, {Ask.TAKE_BACK, Ask.NEXT}),
        (1.0, 129.1, {Ask.TAKE_BACK}),
        (20.0, 91.0, {Ask.ADD, Ask.NEXT}),
        (20.0, 89.0, {Ask.ADD}),
    ],
)
def test_what_was_called_good_stays_good_while_it_passes_or_flickers(
    division_g: float, net_g: float, asks: set[Ask]
) -> None:
    now = replace(scene(belief(net_g)), division_g=division_g)
    assert {live(replace(now, called_good=good)).ask for good in (False, True)} == asks


@pytest.mark.parametrize(
    ("net_g", "young", "ask"),
    [
        (80.0, Ask.ADD, Ask.ADD),
        (111.0, Ask.ADD, Ask.ADD),
        (111.1, Ask.WAIT, Ask.ADD),
        (111.7, Ask.NEXT, Ask.NEXT),
        (128.9, Ask.WAIT, Ask.TAKE_BACK),
        (129.1, Ask.TAKE_BACK, Ask.TAKE_BACK),
    ],
)
def test_what_may_turn_out_good_is_not_corrected_before_it_is_known_better(
    net_g: float, young: Ask, ask: Ask
) -> None:
    # Good from 111.64 g to 128.36 g, and 1.5 u = 0.64 g.
    now = scene(belief(net_g))
    assert live(replace(now, firm=False)).ask is young
    assert live(now).ask is ask
    assert (led(replace(now, firm=False)) is None) == (young is Ask.WAIT)


def test_nobody_is_asked_what_a_longer_rest_may_make_clear() -> None:
    last = scene(belief(12.0, group=(3,), ahead=()))
    for doubtful in (
        replace(last, confidence=0.8),
        replace(scene(belief(60.0)), confidence=0.4),
        scene(belief(90.0, group=(1, 2), ahead=(3,))),
    ):
        assert live(doubtful).ask is Ask.CHECK
        assert live(replace(doubtful, firm=False)).ask is Ask.WAIT
        assert led(replace(doubtful, firm=False)) is None
    assert live(replace(last, firm=False)).ask is Ask.LIFT


def test_whether_a_step_is_in_is_asked_where_the_answer_does_not_end_it() -> None:
    short = belief(60.0)._replace(clear=False)
    assert asks_whether_in(scene(short))
    for other in (
        None,
        belief(60.0),  # nothing is asked
        short._replace(mode=Mode.OFF),
        short._replace(gestures=0),
        short._replace(group=(0, 1), ahead=(2, 3)),  # both are in, or not
        belief(120.0)._replace(clear=False),  # nothing more is needed
        short._replace(level_u_g=12.0),  # nobody knows what is
    ):
        assert not asks_whether_in(scene(other))


@pytest.mark.parametrize(
    ("since_s", "asked_s", "ask"),
    [(0.0, 0.0, Ask.CHECK), (0.5, 0.0, Ask.TAKE_BACK), (0.0, 0.5, Ask.TAKE_BACK)],
)
def test_who_takes_nothing_back_for_long_is_asked_whether_the_step_is_in(
    since_s: float, asked_s: float, ask: Ask
) -> None:
    done = Share((0,), 120.0, 0.4, clear=True)
    over = belief(80.0, group=(1,))._replace(closed=(done,))
    now = replace(scene(over), t=20.0, since_s=since_s, asked_s=asked_s)
    assert live(now).ask is ask
    assert not asks_whether_in(now)  # yes ends it, too much as it is
    # What is in the first step can belong to no other, and what is missing can be added.
    short = belief(40.0, group=(1,))._replace(closed=(done,))
    assert live(replace(now, best=over._replace(closed=()))).ask is Ask.TAKE_BACK
    assert live(replace(now, best=short)).ask is Ask.ADD


@pytest.mark.parametrize("key", [Next(), Undo()])
def test_either_answer_leads_on(cook: Hire, key: Next | Undo) -> None:
    one = cook().start().put(*GRAIN).put(80.0).wait(19.0)
    assert (one.live.ask, one.live.step) == (Ask.CHECK, "beans")
    one.tell(key)
    assert one.live.ask is not Ask.CHECK
    assert one.live.step == ("sauce" if isinstance(key, Next) else "grain")
    assert bool(one.told(Portion)) == isinstance(key, Next)


def test_a_weight_that_left_its_rest_is_waited_for_also_where_it_passes_by_there() -> None:
    base = scene(belief(120.0), resting=False)
    assert live(base).ask is Ask.WAIT
    assert live(replace(base, left=False)).ask is Ask.NEXT


def test_nobody_is_told_to_take_a_build_that_may_lack_its_last_step() -> None:
    last = scene(belief(12.0, group=(3,), ahead=()))
    assert live(replace(last, confidence=0.9)).ask is Ask.LIFT
    unsure = live(replace(last, confidence=0.8))
    assert (unsure.ask, unsure.step) == (Ask.CHECK, "seeds")
    assert live(replace(scene(belief(30.0, (2,), (3,))), confidence=0.8)).ask is Ask.NEXT


@pytest.mark.parametrize(
    ("ahead", "called_good", "ask"),
    [((), True, Ask.PLACE), ((), False, Ask.RETURN), ((3,), True, Ask.RETURN)],
)
def test_a_build_that_was_let_go_is_not_asked_back(
    ahead: tuple[int, ...],
    called_good: bool,
    ask: Ask,
) -> None:
    off = belief(25.5, (2,), ahead).lifted(0.0)  # found half a gram short as it left
    assert live(replace(scene(off), called_good=called_good)).ask is ask


def test_a_wrong_container_is_told_of_before_any_food_is_in() -> None:
    heavy = belief(0.0)._replace(level_g=65.0, base_g=65.0, start_g=65.0)
    assert live(scene(heavy)).odd == Odd(None, 65.0)
    assert live(scene(belief(0.0))).odd is None
    begun = heavy._replace(gestures=1)
    assert live(scene(begun)).odd is live(scene(heavy._replace(weighed=False))).odd is None


def test_a_bowl_being_lifted_keeps_the_weight_that_was_in_it() -> None:
    beans = belief(60.0, group=(1,))
    for weight_g, net_g in ((60.0, 40.0), (15.0, 60.0), (-300.0, 60.0)):
        now = live(scene(beans, weight_g, resting=False))
        assert (now.ask, now.net_g) == (Ask.WAIT, net_g)
        assert now.total_net_g == net_g


def test_a_container_that_may_be_none_is_asked_for_again() -> None:
    new = belief(0.0)._replace(fresh=True)
    assert live(replace(scene(new), stands=0.7)).ask is Ask.PLACE
    assert live(replace(scene(new), confidence=0.9)).ask is Ask.ADD


@pytest.mark.parametrize(
    ("best", "stories"),
    [
        (belief(60.0), [((0,),)]),
        (belief(120.0), [((0,), (1,))]),
        (belief(140.0), [((0,),)]),
        (belief(120.0)._replace(mode=Mode.OFF), [((0,),)]),
        (belief(12.0, group=(3,), ahead=()), [((3,),)]),
        (belief(12.0, group=(3,), ahead=())._replace(mode=Mode.OFF), []),
        (belief(60.0)._replace(clear=False), []),
        (empty(0.0, 0.3), []),
    ],
)
def test_what_is_asked_for_is_what_is_expected(best: Belief, stories: list[Story]) -> None:
    said = led(scene(best))
    assert said is not None
    assert list(said.stories) == stories


def test_a_good_step_leads_on_and_the_last_one_off_the_pan() -> None:
    last = belief(12.0, group=(3,), ahead=())
    assert led(scene(last)) == Led((((3,),),), lifts=True, good=True)
    assert led(scene(belief(120.0))) == Led((((0,), (1,)),), good=True)
    assert led(scene(belief(60.0))) == Led((((0,),),), good=False)
    off = replace(scene(last.lifted(0.0)), called_good=True)
    assert led(off) == Led(places=True, good=True)
    assert led(scene(empty(0.0, 0.3))) == Led(places=True)


def test_the_last_step_leads_to_the_lift() -> None:
    now = live(scene(belief(12.0, group=(3,), ahead=())))
    assert now.ask is Ask.LIFT
    assert now.next_step is None


def test_food_that_moves_at_the_last_step_never_leads_to_a_next_one() -> None:
    sauce = belief(30.0, group=(2,), ahead=(3,))
    now = live(scene(sauce, sauce.level_g + 12.0, resting=False))
    assert now.step == "seeds"
    assert now.ask is not Ask.NEXT


def test_food_that_moves_after_the_last_step_is_too_much_of_it() -> None:
    seeds = belief(12.0, group=(3,), ahead=())
    now = live(scene(seeds, seeds.level_g + 12.0, resting=False))
    assert now.step == "seeds"
    assert now.net_g == 24.0
    assert now.ask is Ask.WAIT


def test_a_flicker_is_not_shown_in_the_next_step() -> None:
    now = live(scene(belief(120.0), 141.0, resting=False))
    assert now.step == "grain"


def test_two_steps_poured_together_share_their_sum_and_are_asked_about() -> None:
    now = live(scene(belief(90.0, group=(1, 2), ahead=(3,))))
    assert (now.ask, now.step, now.joint_with) == (Ask.CHECK, "sauce", ("beans",))
    assert now.net_g == 90.0
    assert now.next_step == "seeds"
    assert [rung.net_g for rung in now.ladder] == [None, 90.0, 90.0, None]


def test_a_build_is_complete_when_every_step_has_its_food() -> None:
    assert complete(belief(12.0, group=(3,), ahead=()), PLAN)
    assert complete(belief(20.0, group=(3,), ahead=()), PLAN)
    assert not complete(belief(5.0, group=(3,), ahead=()), PLAN)
    assert not complete(belief(0.0, group=(3,), ahead=()), PLAN)
    assert not complete(belief(12.0), PLAN)


def test_an_empty_pan_shows_what_lies_on_it() -> None:
    assert live(scene(empty(5.0, 0.3), 9.0)).pan_g == 4.0
