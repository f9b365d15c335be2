"""What a step came to: crumbs apart, an outcome is the same."""

from __future__ import annotations

import pytest

from scaled.core.belief import Belief, Mode
from scaled.core.likeliest import Likeliest, is_sure, likeliest_share
from scaled.core.plan import Plan
from scaled.core.share import Share
from tests.core.scripted import dish

PLAN = Plan.of(dish())  # grain 120, beans 60, sauce 30, seeds 12 g
LEAST = 0.99
Outcomes = list[tuple[float, tuple[Share, ...]]]


def likeliest(weighed: Outcomes, step: int) -> Likeliest:
    return likeliest_share(weighed, step, lambda shares: shares, PLAN)


def outcome(weighed: Outcomes, step: int) -> tuple[float, Share | None]:
    return likeliest(weighed, step)[:2]


def grain(net_g: float, u_g: float = 0.4, *, clear: bool = True) -> Share:
    return Share((0,), net_g, u_g, clear)


def test_the_same_verdict_on_the_same_steps_is_the_same_outcome() -> None:
    mass, share = outcome([(0.6, (grain(120.0),)), (0.3, (grain(118.0),)), (0.1, ())], 0)
    assert mass == pytest.approx(0.9)
    assert share is not None
    assert share.net_g == 120.0
    # U = 2 u reaches from 120 g over 118 g and its own U of 0.8 g: two thirds are not 95 %.
    assert share.u_g == pytest.approx((2.0 + 0.8) / 2)


def test_what_the_last_twentieth_weighs_counts_within_four_uncertainties() -> None:
    _, share = outcome([(0.96, (grain(120.0),)), (0.04, (grain(112.0),))], 0)
    assert share is not None
    assert share.net_g == 120.0
    # 4 u reaches from 120 g over 112 g and its own U of 0.8 g.
    assert share.u_g == pytest.approx((8.0 + 0.8) / 4)


def test_what_is_surely_far_off_is_said_to_be() -> None:
    _, share = outcome([(0.96, (grain(150.0),)), (0.04, (grain(260.0),))], 0)
    assert share is not None
    assert share.u_g == PLAN.aim((0,)).band.width_g


def test_what_three_in_a_thousand_weigh_does_not_count() -> None:
    _, share = outcome([(0.998, (grain(120.0),)), (0.002, (grain(112.0),))], 0)
    assert share == grain(120.0)


def test_what_is_nearer_than_four_uncertainties_changes_nothing() -> None:
    _, share = outcome([(0.96, (grain(120.0),)), (0.04, (grain(120.5),))], 0)
    assert share == grain(120.0)


def test_different_verdicts_are_different_outcomes() -> None:
    mass, share = outcome([(0.55, (grain(120.0),)), (0.45, (grain(80.0),))], 0)
    assert mass == pytest.approx(0.55)
    assert share == grain(120.0)


def test_what_is_not_clear_is_no_outcome_of_what_is() -> None:
    mass, share = outcome([(0.5, (grain(120.0, clear=False),)), (0.5, (grain(121.0),))], 0)
    assert mass == pytest.approx(0.5)
    assert share is not None


def test_a_share_of_two_steps_is_the_outcome_of_both() -> None:
    both = Share((1, 2), 90.0, 0.4, clear=True)
    for step in (1, 2):
        mass, share = outcome([(0.9, (both,)), (0.1, ())], step)
        assert mass == pytest.approx(0.9)
        assert share is not None
        assert (share.group, share.net_g) == ((1, 2), 90.0)


def test_nothing_added_is_an_outcome_too() -> None:
    assert outcome([(0.8, ()), (0.2, (grain(120.0),))], 0) == (0.8, None)


LOW_G, HIGH_G = PLAN.aim((0,)).band.low_g, PLAN.aim((0,)).band.high_g
U_G = 2 * 0.4
"""U = 2 u of :func:`grain`."""


@pytest.mark.parametrize(
    "other",
    [
        (),
        (grain(0.0, 30.0),),  # closed by hand, empty
        (grain(LOW_G / 2),),
        (grain(LOW_G - U_G - 0.1),),
        (grain(HIGH_G + U_G + 0.1),),
        (grain(LOW_G - U_G - 0.1, clear=False),),
    ],
)
def test_a_step_that_may_be_surely_no_good_is_said_to_be(other: tuple[Share, ...]) -> None:
    found = likeliest([(0.9, (grain(120.0),)), (0.06, other), (0.04, other)], 0)
    assert found.share == grain(120.0)
    assert found.amiss == pytest.approx(0.1)


@pytest.mark.parametrize(
    "other",
    [
        (grain(121.0),),
        # Beyond a limit, but by less than U: it may be good.
        (grain(LOW_G - U_G + 0.1),),
        (grain(HIGH_G + U_G - 0.1),),
        # Nobody knows how much of it is the grain's.
        (Share((0, 1), 300.0, 0.4, clear=True),),
    ],
)
def test_what_may_be_good_is_not_amiss(other: tuple[Share, ...]) -> None:
    assert likeliest([(0.9, (grain(120.0),)), (0.1, other)], 0).amiss == 0.0


def sure(likeliest: Share, *weighed: tuple[float, tuple[Share, ...]]) -> bool:
    """Whether it is, where beliefs closed these."""
    beliefs = [(p, Belief(Mode.ON, 0.0, 200.0, 0.3, closed=closed)) for p, closed in weighed]
    return is_sure(likeliest, beliefs, PLAN, LEAST)


def test_a_step_is_sure_when_all_but_the_least_likely_closed_it_alike() -> None:
    one, like, unlike = grain(120.0), grain(119.0), grain(80.0)
    assert sure(one, (0.7, (one,)), (0.295, (like,)), (0.005, (unlike,)))
    assert sure(one, (0.995, (one,)), (0.005, ()))


@pytest.mark.parametrize(
    "other", [(), (grain(80.0),), (grain(120.0, clear=False),), (Share((0, 1), 180.0, 0.4, True),)]
)
def test_a_step_is_not_sure_when_it_may_have_come_out_otherwise(other: tuple[Share, ...]) -> None:
    assert not sure(grain(120.0), (0.7, (grain(120.0),)), (0.3, other))
    assert not sure(grain(120.0), (0.98, (grain(120.0),)), (0.01, other), (0.01, other))
