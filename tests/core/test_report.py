"""From beliefs to the words the journal keeps."""

from __future__ import annotations

import math

import pytest

from scaled.core import report
from scaled.core.accuracy import ByClass
from scaled.core.certainty import (
    AS_WRITTEN,
    BESIDE_FAULT,
    ODD,
    PASSES,
    SURE,
    Asked,
    as_written,
    asked,
)
from scaled.core.division import LearntDivision
from scaled.core.events import Attribution, Doubt, Finished, Portion, Verdict
from scaled.core.plan import Plan
from scaled.core.share import Ended, Share
from scaled.core.verdict import normal_cdf
from tests.core.scripted import dish

PLAN = Plan.of(dish())
AT = (12.5, 3)
U_G = math.hypot(0.4, report.DRAUGHT_G)
"""Of a weight whose two readings leave 0.4 g in doubt."""


def portion(
    share: Share | None,
    mass: float = 0.999,
    step: int = 1,
    least: Asked = AS_WRITTEN,
    amiss: float = 0.0,
) -> Portion:
    return report.portion(step, report.Outcome(mass, share, amiss, least), PLAN, AT)


def sure(share: Share | None, plan: Plan) -> Portion:
    """The word on the beans of another plan, hardly in doubt."""
    return report.portion(1, report.Outcome(0.999, share, 0.0), plan, AT)


def beans(net_g: float, *, clear: bool = True) -> Share:
    return Share((1,), net_g, 0.4, clear)


def finished(total_g: float, mass: float = 0.999) -> Finished:
    return report.finished(Ended((), total_g, 0.4), mass, PLAN, AT, 40.0)


@pytest.mark.parametrize(
    ("net_g", "verdict"),
    [
        (60.0, Verdict.PASS),
        (54.0, Verdict.PASS),
        (66.0, Verdict.PASS),
        (53.9, Verdict.UNDER),
        (66.1, Verdict.OVER),
    ],
)
def test_a_sure_portion_is_judged(net_g: float, verdict: Verdict) -> None:
    said = portion(beans(net_g))
    assert (said.t, said.build, said.step) == (12.5, 3, "beans")
    assert (said.net_g, said.u_g) == (net_g, U_G)
    assert said.verdict is verdict
    assert said.attribution is Attribution.SURE
    assert said.joint_with == ()
    assert not said.skipped


def test_confidence_counts_both_the_attribution_and_the_weight() -> None:
    # JCGM 106:2012: half the probability lies beyond a limit measured exactly.
    assert portion(beans(54.0), mass=0.96).confidence == pytest.approx(0.48, abs=1e-6)
    assert portion(beans(60.0), mass=0.96).confidence == pytest.approx(0.96, abs=1e-6)


@pytest.mark.parametrize(
    ("share", "mass"),
    [
        (beans(60.0), 0.6),
        (None, 0.6),
        (beans(60.0, clear=False), 1.0),
        (beans(0.0, clear=False), 1.0),  # closed empty, but something unexplained happened
    ],
)
def test_what_is_not_sure_is_never_guessed(share: Share | None, mass: float) -> None:
    said = portion(share, mass)
    assert said.verdict is Verdict.UNSURE
    assert said.attribution is Attribution.UNSURE
    assert said.net_g is said.u_g is None
    assert said.confidence == mass
    assert not said.skipped


@pytest.mark.parametrize(
    ("share", "plain", "beside_fault", "least"),
    [
        (beans(60.0), True, False, PASSES),
        (beans(60.0), False, False, PASSES),
        (beans(60.0), True, True, PASSES),
        (beans(60.0), False, True, PASSES),
        (beans(70.0), True, False, AS_WRITTEN.over),
        (beans(70.0), False, False, ODD.over),
        (beans(70.0), False, True, BESIDE_FAULT.over),
        (beans(50.0), True, False, AS_WRITTEN.under),
        (beans(50.0), False, False, ODD.under),
        (beans(50.0), True, True, BESIDE_FAULT.under),
        (None, True, False, AS_WRITTEN.left_out),
        (None, False, False, ODD.left_out),
        (None, False, True, BESIDE_FAULT.left_out),
    ],
)
def test_each_word_asks_for_its_own_certainty(
    share: Share | None, plain: bool, beside_fault: bool, least: float
) -> None:
    needed = asked(plain=plain, beside_fault=beside_fault)
    assert portion(share, least + 1e-9, least=needed).attribution is Attribution.SURE
    assert portion(share, least - 1e-9, least=needed).attribution is Attribution.UNSURE


def test_no_step_passes_that_may_be_no_good_at_all() -> None:
    for least in (AS_WRITTEN, ODD, BESIDE_FAULT):
        most = least.most_amiss
        assert portion(beans(60.0), 0.8, least=least, amiss=most).verdict is Verdict.PASS
        said = portion(beans(60.0), 0.96, least=least, amiss=most + 1e-9)
        assert (said.verdict, said.attribution, said.net_g) == (Verdict.UNSURE, "unsure", None)
    assert portion(beans(70.0), 0.96, amiss=1.0).verdict is Verdict.OVER


def test_what_several_steps_share_is_asked_as_much_as_a_whole_build() -> None:
    share = Share((1, 2), 90.0, 0.4, clear=True)
    assert portion(share, SURE + 1e-9).attribution is Attribution.JOINT
    assert portion(share, SURE - 1e-9).attribution is Attribution.UNSURE


@pytest.mark.parametrize(
    ("groups", "steps", "plain"),
    [
        ([], 0, True),
        ([(0,), (1,), (2,)], 3, True),
        ([(0,), (1, 2)], 3, True),
        ([(0,), (1,)], 3, False),
        ([(0,), (2,)], 0, False),
        ([(1,), (0,), (2,)], 3, False),
    ],
)
def test_a_build_goes_as_written_step_by_step(
    groups: list[tuple[int, ...]], steps: int, plain: bool
) -> None:
    shares = [Share(group, 10.0, 0.4, clear=True) for group in groups]
    assert as_written(shares, steps) is plain


@pytest.mark.parametrize("share", [None, Share((1,), 0.0, 0.4, clear=True)])
def test_a_step_that_got_nothing_was_skipped_and_is_under(share: Share | None) -> None:
    said = portion(share)
    assert said.skipped
    assert said.net_g == 0.0
    assert said.verdict is Verdict.UNDER
    assert said.attribution is Attribution.SURE


@pytest.mark.parametrize(("step", "other"), [(1, "sauce"), (2, "beans")])
def test_of_two_steps_poured_together_only_the_sum_is_known(step: int, other: str) -> None:
    said = portion(Share((1, 2), 90.0, 0.4, clear=True), step=step)
    assert said.attribution is Attribution.JOINT
    assert said.joint_with == (other,)
    assert said.net_g == 90.0
    assert said.verdict is Verdict.UNSURE


@pytest.mark.parametrize(
    ("total_g", "verdict"),
    [(222.0, Verdict.PASS), (207.0, Verdict.PASS), (206.0, Verdict.UNDER), (238.0, Verdict.OVER)],
)
def test_a_finished_build_is_judged_by_its_food(total_g: float, verdict: Verdict) -> None:
    said = finished(total_g)
    assert said.verdict is verdict
    assert (said.net_g, said.u_g, said.duration_s) == (total_g, U_G, 40.0)


def test_a_finished_build_of_doubtful_weight_is_unsure() -> None:
    said = finished(222.0, mass=0.5)
    assert said.verdict is Verdict.UNSURE
    assert said.net_g is said.u_g is None
    assert said.confidence == 0.5


GUARDED = Plan.of(dish(("revision = ", 'acceptance = "guarded"\nrevision = ')))


def test_inside_a_guard_band_the_step_is_sure_and_the_verdict_is_not() -> None:
    # Beans pass from 54 to 66 g; u = 0.41 g keeps 0.82 g of that at either end.
    said = sure(beans(65.5), GUARDED)
    assert (said.verdict, said.doubt) == (Verdict.UNSURE, Doubt.NEAR_LIMIT)
    assert said.attribution is Attribution.SURE
    assert (said.net_g, said.u_g) == (65.5, U_G)
    assert said.confidence == pytest.approx(
        0.999 * normal_cdf(0.5 / U_G), abs=1e-4
    )  # inside the limits
    assert sure(beans(65.1), GUARDED).verdict is Verdict.PASS
    assert sure(beans(66.1), GUARDED).verdict is Verdict.OVER


def test_a_build_is_judged_by_the_same_rule() -> None:
    said = report.finished(Ended((), 236.8, 0.4), 0.999, GUARDED, AT, 40.0)
    assert (said.verdict, said.doubt, said.net_g) == (Verdict.UNSURE, Doubt.NEAR_LIMIT, 236.8)
    assert report.finished(Ended((), 236.8, 0.4), 0.999, PLAN, AT, 40.0).doubt is None


def test_a_weight_too_coarse_for_its_tolerance_is_told_and_not_judged() -> None:
    # 12 g wide; two readings in steps of 10 g leave u = 4.1 g, and 4 u is wider.
    coarse = Plan.of(dish(), LearntDivision(10.0))
    said = sure(Share((1,), 60.0, 4.2, clear=True), coarse)
    assert (said.verdict, said.doubt) == (Verdict.UNSURE, Doubt.TOO_COARSE)
    assert said.attribution is Attribution.SURE
    assert (said.net_g, said.u_g) == (60.0, math.hypot(4.2, report.DRAUGHT_G))


def test_a_weight_that_is_not_judged_is_asked_as_much_as_a_whole_build() -> None:
    coarse = Plan.of(dish(), LearntDivision(10.0))
    share = Share((1,), 60.0, 4.2, clear=True)
    for mass, amiss, least, said in (
        (SURE + 1e-9, 0.1, BESIDE_FAULT, Attribution.SURE),
        (SURE - 1e-9, 0.0, AS_WRITTEN, Attribution.UNSURE),
    ):
        found = report.Outcome(mass, share, amiss, least)
        assert report.portion(1, found, coarse, AT).attribution is said


def test_the_scales_share_is_told_beside_the_whole() -> None:
    on_class_three = Plan.of(dish(), accuracy=ByClass("III", 1.0))
    for said in (
        sure(beans(60.0), on_class_three),
        sure(Share((1, 2), 90.0, 0.4, clear=True), on_class_three),
        report.finished(Ended((), 222.0, 0.4), 0.999, on_class_three, AT, 40.0),
    ):
        assert said.u_scale_g == pytest.approx(0.57735, abs=1e-5)
        assert said.u_g == pytest.approx(math.hypot(U_G, 0.57735), abs=1e-5)
    assert portion(beans(60.0)).u_scale_g is None
    assert portion(None).u_scale_g is None


# The whole build, when it may have ended in several ways.


def whole(*ends: tuple[float, float]) -> tuple[float, float, float]:
    """Probability, weight and uncertainty from probabilities and weights."""
    mass, best = report.likeliest_whole(
        [(chance, Ended((), total_g, 0.4)) for chance, total_g in ends], PLAN
    )
    return mass, best.total_g, best.total_u_g


def test_ends_that_weigh_alike_are_one_and_as_well_known_as_the_likeliest() -> None:
    assert whole((0.6, 222.0), (0.35, 222.8), (0.05, 230.0)) == pytest.approx((0.95, 222.0, 0.4))


def test_ends_that_do_not_are_one_when_they_give_the_verdict_their_spread_uncertain() -> None:
    # Passes from 207 to 237 g. Variance about the likeliest value: 0.4^2 + 0.5 x 4^2.
    u_g = math.sqrt(0.16 + 8.0)
    assert whole((0.5, 222.0), (0.5, 226.0)) == pytest.approx((1.0, 222.0, u_g))


def test_ends_with_another_verdict_are_another_outcome() -> None:
    mass, total_g, _ = whole((0.5, 235.0), (0.3, 236.5), (0.2, 240.0))
    assert mass == pytest.approx(0.8)
    assert total_g == 235.0


def test_a_whole_known_worse_than_its_tolerance_is_unsure() -> None:
    said = report.finished(Ended((), 222.0, 16.0), 0.99, PLAN, AT, 40.0)
    assert (said.verdict, said.net_g) == (Verdict.UNSURE, None)
