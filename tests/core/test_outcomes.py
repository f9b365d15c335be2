"""How sure the last words on a build must be."""

from __future__ import annotations

import pytest

from scaled.core.certainty import AS_WRITTEN, BESIDE_FAULT, ODD, Asked
from scaled.core.events import Verdict
from scaled.core.outcomes import outcomes
from scaled.core.plan import Plan
from scaled.core.report import portion
from scaled.core.share import Ended, Share
from tests.core.scripted import TRUTH, dish

PLAN = Plan.of(dish())
GOOD = tuple(TRUTH.values())


def ended(*amounts_g: float) -> list[tuple[float, Ended]]:
    """A build that surely holds this of each step; 0: it was left out."""
    shares = tuple(
        Share((step,), net_g, 0.4, clear=True) for step, net_g in enumerate(amounts_g) if net_g
    )
    return [(1.0, Ended(shares, sum(amounts_g), 0.4))]


def asked_of(*amounts_g: float, cut: bool = False) -> list[Asked]:
    found = outcomes(ended(*amounts_g), {}, PLAN, cut=cut)
    return [found[step].asked for step in range(len(amounts_g))]


def test_more_is_asked_beside_a_fault() -> None:
    beside, alone = BESIDE_FAULT, AS_WRITTEN
    assert asked_of(*GOOD) == [alone] * 4
    assert asked_of(GOOD[0], 2 * GOOD[1], *GOOD[2:]) == [beside, alone, beside, alone]
    assert asked_of(*GOOD[:3], GOOD[3] / 4) == [alone, alone, beside, alone]


@pytest.mark.parametrize("cut", [False, True])
def test_a_step_left_out_is_a_fault_and_makes_the_build_odd(cut: bool) -> None:
    assert asked_of(0.0, *GOOD[1:], cut=cut) == [ODD, BESIDE_FAULT, ODD, ODD]


def test_what_several_steps_share_is_no_fault() -> None:
    both = Share((0, 1), 3 * (GOOD[0] + GOOD[1]), 0.4, clear=True)
    rest = ended(0.0, 0.0, *GOOD[2:])[0][1].shares
    found = outcomes([(1.0, Ended((both, *rest), 500.0, 0.4))], {}, PLAN, cut=False)
    assert found[2].asked == AS_WRITTEN


def test_a_word_said_before_is_not_said_again_but_counts() -> None:
    first = outcomes(ended(2 * GOOD[0], *GOOD[1:]), {}, PLAN, cut=False)[0]
    said = {0: portion(0, first, PLAN, (12.5, 1))}
    found = outcomes(ended(2 * GOOD[0], *GOOD[1:]), said, PLAN, cut=False)
    assert list(found) == [1, 2, 3]
    assert found[1].asked == BESIDE_FAULT


def word(step: int, *ends: tuple[float, list[float]]) -> Verdict:
    """The last word on a step of a build that may have ended like these."""
    found = outcomes([(p, ended(*holds)[0][1]) for p, holds in ends], {}, PLAN, cut=False)
    return portion(step, found[step], PLAN, (12.5, 1)).verdict


def test_a_step_passes_where_it_is_hardly_ever_no_good() -> None:
    good, without = [*GOOD], [*GOOD[:3], 0.0]
    nearly = [*GOOD[:3], GOOD[3] * 0.73]
    assert word(3, (0.98, good), (0.02, without)) is Verdict.PASS
    assert word(3, (0.95, good), (0.05, without)) is Verdict.UNSURE
    # What else it may be is good as well, or not surely bad.
    assert PLAN.aims[3].band.judge(nearly[3]) is Verdict.UNDER
    assert word(3, (0.8, good), (0.2, nearly)) is Verdict.PASS


def test_less_is_asked_of_a_step_where_another_was_left_out() -> None:
    odd, short = [0.0, *GOOD[1:]], [0.0, *GOOD[1:3], GOOD[3] / 4]
    assert word(3, (0.95, odd), (0.05, short)) is Verdict.PASS
    assert word(3, (0.88, odd), (0.12, short)) is Verdict.UNSURE
