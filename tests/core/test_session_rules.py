"""The profile's decision rule and the scale's own error, from the first scoop to the last word."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import pytest

from scaled.core.accuracy import ByClass
from scaled.core.command import Next
from scaled.core.events import Attribution, Doubt, Finished, Portion, Verdict
from scaled.core.live import Ask
from scaled.core.session import Session
from tests.core.scripted import CLEAN, GRAIN, dish
from tests.core.scripted_scale import Scale

if TYPE_CHECKING:
    from tests.core.scripted import Hire

GUARDED = dish(("revision = ", 'acceptance = "guarded"\nrevision = '))


def test_who_follows_the_screen_passes_a_guarded_profile(cook: Hire) -> None:
    one = cook(GUARDED).start().put(*GRAIN).put(53.0)
    while one.live.ask is Ask.ADD:
        one.put(1.0)
    one.put(30.0, 12.0).lift(off_s=4.0)
    verdicts = {portion.step: portion.verdict for portion in one.told(Portion)}
    assert verdicts["beans"] is Verdict.PASS
    assert one.told(Finished)[0].verdict is Verdict.PASS


def test_inside_the_limits_and_the_guard_band_more_is_asked_for(cook: Hire) -> None:
    one = cook(GUARDED).start().put(*GRAIN).put(54.5)
    assert one.live.ask is Ask.ADD
    assert one.live.low_g > 54.5
    simple = cook().start().put(*GRAIN).put(54.5)
    assert simple.live.low_g == 54.0


def test_who_stops_inside_the_guard_band_is_neither_passed_nor_blamed(cook: Hire) -> None:
    one = cook(GUARDED).build(GRAIN, (65.6,), (30.0,), (12.0,))
    said = {portion.step: portion for portion in one.told(Portion)}["beans"]
    assert (said.verdict, said.doubt) == (Verdict.UNSURE, Doubt.NEAR_LIMIT)
    assert said.attribution is Attribution.SURE
    assert said.net_g == pytest.approx(65.6, abs=1.0)


def test_the_class_of_the_scale_counts_in_every_weight_that_is_judged(cook: Hire) -> None:
    plain, graded = cook(), cook()
    graded.session = Session(dish(), 1.0, ByClass("III", 1.0))
    for one in (plain, graded):
        one.build(*CLEAN)
    for bare, said in zip(plain.told(Portion), graded.told(Portion), strict=True):
        assert said.net_g == bare.net_g
        assert bare.u_g is not None
        assert said.u_g == pytest.approx(math.hypot(bare.u_g, 1 / math.sqrt(3)))
    assert graded.told(Finished)[0].u_scale_g == pytest.approx(1 / math.sqrt(3))
    settled = [live.u_g for live in graded.lives if live.settled and live.ask is Ask.NEXT]
    assert min(settled) > 1 / math.sqrt(3)


def test_a_step_that_this_scale_cannot_judge_says_so_while_it_is_filled(cook: Hire) -> None:
    # A band of 6 g on a 5 g scale: two rounded readings alone have u = 2.04 g.
    scale = Scale(division=5.0)
    one = cook(scale=scale, division_g=5.0).start().put(40.0, 40.0, 40.0).put(60.0)
    beans = one.live.doubt
    one.put(30.0, 12.0)
    assert beans is None
    assert one.live.step == "seeds"
    assert one.live.doubt is Doubt.TOO_COARSE
    one.tell(Next())
    said = {portion.step: portion for portion in one.told(Portion)}["seeds"]
    assert one.live.ladder[-1].doubt is Doubt.TOO_COARSE
    assert (said.verdict, said.doubt) == (Verdict.UNSURE, Doubt.TOO_COARSE)
    assert said.attribution is Attribution.SURE
