"""Builds by script: what a cook does to the scale, and what is said of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from scaled.core.events import (
    Attribution,
    BuildStarted,
    Finished,
    Lifted,
    OutOfOrder,
    Portion,
    TakenBack,
    Verdict,
)
from scaled.core.session import Session
from tests.core.scripted import (
    ALL_PASS,
    CLEAN,
    GRAIN,
    STEPS,
    TRUTH,
    assert_never_wrong,
    dish,
)
from tests.core.scripted_scale import Scale

if TYPE_CHECKING:
    from tests.core.scripted import Hire

# A clean build.


def test_before_the_first_reading_there_is_nothing() -> None:
    session = Session(dish())
    assert session.live is None
    assert session.build == 0
    assert session.close(0.0) == []


def test_the_container_is_recognised_and_weighed(cook: Hire) -> None:
    one = cook().wait(2.0)
    assert one.told(BuildStarted) == []
    assert one.session.build == 0
    one.put(21.0)
    (started,) = one.told(BuildStarted)
    assert started.tare_g == pytest.approx(21.0, abs=2 * started.u_g)
    assert started.build == one.session.build == 1


def test_a_clean_build_gets_every_weight_and_verdict_right(cook: Hire) -> None:
    one = cook().build(*CLEAN)
    assert one.verdicts() == ALL_PASS
    for step, true_g in TRUTH.items():
        said = one.portion(step)
        assert said.net_g == pytest.approx(true_g, abs=0.5)
        assert said.attribution is Attribution.SURE
        assert said.confidence > 0.9
        assert not said.skipped
    assert [*one.told(OutOfOrder), *one.told(TakenBack)] == []


# JCGM 100:2008 (GUM), F.2.2.1, twice in quadrature: d/sqrt(6) = 0.408248 d.
def test_no_portion_claims_to_be_better_known_than_two_rounded_readings(cook: Hire) -> None:
    one = cook().build(*CLEAN)
    for said in one.told(Portion):
        assert said.u_g is not None
        assert 0.408 <= said.u_g < 1.0


def test_the_final_weight_is_all_the_food_and_none_of_the_bowl(cook: Hire) -> None:
    said = cook().build(*CLEAN).finished()
    assert said.net_g == pytest.approx(222.0, abs=0.5)
    assert said.verdict is Verdict.PASS
    assert said.duration_s == pytest.approx(20.4, abs=1.5)


def test_a_build_lifted_after_its_last_step_finishes_by_itself(cook: Hire) -> None:
    one = cook().build(*CLEAN)
    assert [event.event for event in one.events].count("finished") == 1
    assert one.events[-1] is one.finished()
    at_s = one.finished().t
    assert at_s - one.told(Lifted)[0].t < 4.0
    assert one.close().events[-1] is one.finished()  # nothing is left to say


def test_what_flickers_on_the_pan_afterwards_does_not_finish_the_build_again(cook: Hire) -> None:
    one = cook(scale=Scale(division=0.1), division_g=0.1).build(*CLEAN)
    one.put(0.3, 0.3).close()
    assert one.events[-1].event != "finished"
    assert one.finished().confidence > 0.9


def test_a_portion_is_final_as_soon_as_the_next_step_has_begun(cook: Hire) -> None:
    one = cook().start().put(*GRAIN)
    assert one.told(Portion) == []
    one.put(60.0)
    assert one.verdicts() == {"grain": "pass"}


def test_several_scoops_make_one_step(cook: Hire) -> None:
    one = cook().start()
    for scoop_g, so_far_g in ((40.0, 40.0), (41.0, 81.0)):
        rest = one.put(scoop_g).settled()
        assert (rest.step, rest.verdict) == ("grain", None)
        assert rest.net_g == pytest.approx(so_far_g, abs=0.5)
    rest = one.put(39.0).settled()
    assert (rest.step, rest.verdict) == ("grain", Verdict.PASS)


@pytest.mark.parametrize("scoops", [(120.0,), (80.0, 40.0), (30.0, 30.0, 30.0, 30.0)])
def test_more_or_fewer_scoops_make_the_same_step(cook: Hire, scoops: tuple[float, ...]) -> None:
    one = cook().build(scoops, *CLEAN[1:])
    assert one.portion("grain").verdict is Verdict.PASS
    assert_never_wrong(one)


def test_the_next_bowl_is_the_next_build(cook: Hire) -> None:
    one = cook().build(*CLEAN).build((39.0, 40.0, 38.0), (58.0,), (31.0,), (11.0,))
    assert one.verdicts(1) == one.verdicts(2) == ALL_PASS
    assert [said.build for said in one.told(BuildStarted)] == [1, 2]
    assert one.finished(2).net_g == pytest.approx(217.0, abs=0.5)
    assert_never_wrong(one, {"grain": 117.0, "beans": 58.0, "sauce": 31.0, "seeds": 11.0}, build=2)


# Too much, too little.


def test_too_much_is_over_and_taking_some_back_makes_it_good(cook: Hire) -> None:
    one = cook().start().put(*GRAIN).wait(1.0).put(60.0, 30.0, 22.0)
    one.take(10.0)
    (back,) = one.told(TakenBack)
    assert (back.step, back.build) == ("seeds", 1)
    assert back.amount_g == pytest.approx(10.0, abs=0.5)
    assert one.settled().verdict is Verdict.PASS
    one.lift(off_s=4.0)
    assert_never_wrong(one)
    assert one.portion("seeds").verdict is Verdict.PASS


def test_some_taken_back_of_a_step_of_many_scoops(cook: Hire) -> None:
    one = cook().start().put(40.0, 40.0, 60.0).take(20.0).put(60.0, 30.0, 12.0)
    one.lift(off_s=4.0)
    assert [back.step for back in one.told(TakenBack)] == ["grain"]
    assert one.portion("grain").verdict is Verdict.PASS
    assert_never_wrong(one)


def test_too_much_left_in_is_over(cook: Hire) -> None:
    one = cook().build(*CLEAN[:3], (24.0,))
    assert one.portion("seeds").verdict is Verdict.OVER
    assert one.portion("seeds").net_g == pytest.approx(24.0, abs=0.5)
    assert_never_wrong(one, {"seeds": 24.0})


def test_moving_on_while_under_is_under_once_it_is_certain(cook: Hire) -> None:
    one = cook().start().put(*GRAIN).wait(1.0).put(40.0).wait(1.0)
    assert "beans" not in one.verdicts()  # it may still be finished
    one.put(30.0).wait(1.0).put(12.0).wait(1.0)
    one.lift(off_s=16.0)  # the screen asks for it back
    assert_never_wrong(one, {"beans": 40.0})
    assert one.portion("beans").verdict is Verdict.UNDER
    assert one.finished().verdict is Verdict.UNDER


def test_a_step_begun_and_topped_up_is_not_under(cook: Hire) -> None:
    one = cook().build(GRAIN, (42.0, 18.0), *CLEAN[2:])
    assert_never_wrong(one)
    assert one.finished().net_g == pytest.approx(222.0, abs=0.5)


@pytest.mark.parametrize(
    ("beans_g", "verdict"), [(70.0, "over"), (66.0, "pass"), (54.0, "pass"), (50.0, "under")]
)
def test_the_finished_weight_has_its_own_verdict(cook: Hire, beans_g: float, verdict: str) -> None:
    narrow = dish(('weight = "222 g"\nunder = "15 g"\nover = "15 g"',
                   'weight = "222 g"\nunder = "6 g"\nover = "6 g"'))  # fmt: skip
    one = cook(narrow).build(GRAIN, (beans_g,), *CLEAN[2:])
    assert one.finished().verdict == verdict


def test_a_written_weight_with_the_bowl_in_it_means_the_same(cook: Hire) -> None:
    with_bowl = dish(('weight = "222 g"', 'weight = "242 g"\nincludes_container = true'))
    one = cook(with_bowl).build(*CLEAN)
    assert one.finished().net_g == pytest.approx(222.0, abs=0.5)
    assert one.finished().verdict is Verdict.PASS


# Out of the ordinary.


def test_steps_left_out_at_the_end_were_skipped(cook: Hire) -> None:
    one = cook().build(GRAIN, (60.0,)).start()
    for step in ("sauce", "seeds"):
        said = one.portion(step)
        assert said.skipped
        assert (said.net_g, said.verdict) == (0.0, Verdict.UNDER)
    assert_never_wrong(one, {"sauce": 0.0, "seeds": 0.0})


@pytest.mark.parametrize("left_out", [0, 2, 3])
def test_a_step_left_out_is_never_given_anothers_food(cook: Hire, left_out: int) -> None:
    done = [gestures for i, gestures in enumerate(CLEAN) if i != left_out]
    one = cook().build(*done).start().close()
    assert_never_wrong(one, {STEPS[left_out]: 0.0})


def test_two_ingredients_in_one_change_are_known_as_a_sum(cook: Hire) -> None:
    one = cook().build(GRAIN, (90.0,), (12.0,)).wait(12.0)  # the screen asks for it back
    assert_never_wrong(one)
    for step, other in (("beans", "sauce"), ("sauce", "beans")):
        said = one.portion(step)
        assert said.verdict is Verdict.UNSURE
        assert said.attribution is Attribution.JOINT
        assert said.joint_with == (other,)
        assert said.net_g == pytest.approx(90.0, abs=0.5)
    assert one.finished().verdict is Verdict.PASS


def test_what_cannot_be_explained_is_never_guessed(cook: Hire) -> None:
    one = cook().build(GRAIN, (60.0,), (400.0,), (30.0,), (12.0,))
    assert_never_wrong(one)
    assert one.finished().verdict is Verdict.UNSURE
    assert "unsure" in one.verdicts().values()


@pytest.mark.parametrize("after", [0, 1, 2, 3, 4])
def test_the_stream_may_end_anywhere(cook: Hire, after: int) -> None:
    one = cook().start()
    for gestures in CLEAN[:after]:
        one.put(*gestures).wait(1.0)
    one.close()
    missing = dict.fromkeys(STEPS[after:], 0.0)
    assert_never_wrong(one, missing)
    assert len(one.told(Finished)) == (1 if after else 0)
    if after:
        # More might have come: nothing is called under or left out.
        assert one.verdicts() == ALL_PASS | dict.fromkeys(missing, "unsure")
        assert one.finished().verdict is (Verdict.UNSURE if missing else Verdict.PASS)
    said = len(one.events)
    assert len(one.close().events) == said
