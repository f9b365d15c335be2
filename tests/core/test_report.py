"""From beliefs to the words the journal keeps."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core import report
from scaled.core.belief import Ended, Share
from scaled.core.events import Attribution, Finished, Portion, Verdict
from scaled.core.plan import Plan
from scaled.core.verdict import Band
from tests.core.scripted import dish

PLAN = Plan.of(dish())
AT = (12.5, 3)


def portion(share: Share | None, mass: float = 0.999, step: int = 1) -> Portion:
    return report.portion(step, share, mass, PLAN, AT)


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
    assert (said.net_g, said.u_g) == (net_g, 0.4)
    assert said.verdict is verdict
    assert said.attribution is Attribution.SURE
    assert said.joint_with == ()
    assert not said.skipped


def test_confidence_counts_both_the_attribution_and_the_weight() -> None:
    # JCGM 106:2012: half the probability lies beyond a limit measured exactly.
    assert portion(beans(54.0), mass=0.96).confidence == pytest.approx(0.48, abs=1e-6)
    assert portion(beans(60.0), mass=0.96).confidence == pytest.approx(0.96, abs=1e-6)


@pytest.mark.parametrize(
    ("share", "mass"), [(beans(60.0), 0.6), (None, 0.6), (beans(60.0, clear=False), 1.0)]
)
def test_what_is_not_sure_is_never_guessed(share: Share | None, mass: float) -> None:
    said = portion(share, mass)
    assert said.verdict is Verdict.UNSURE
    assert said.attribution is Attribution.UNSURE
    assert said.net_g is said.u_g is None
    assert said.confidence == mass
    assert not said.skipped


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
    assert (said.net_g, said.u_g, said.duration_s) == (total_g, 0.4, 40.0)


def test_a_finished_build_of_doubtful_weight_is_unsure() -> None:
    said = finished(222.0, mass=0.5)
    assert said.verdict is Verdict.UNSURE
    assert said.net_g is said.u_g is None
    assert said.confidence == 0.5


@given(st.floats(0, 300), st.sampled_from([0.0, 1e-12, 0.4]))
def test_an_ideal_scale_is_judged_too(net_g: float, u_g: float) -> None:
    verdict, confidence = report.judge(Band.around(60.0, 6.0, 6.0), net_g, u_g)
    assert verdict in {Verdict.PASS, Verdict.UNDER, Verdict.OVER}
    assert 0.0 <= confidence <= 1.0
