"""A hand under the bowl carries a part of it for a while: it takes no food, and swaps no bowl."""

from __future__ import annotations

from itertools import pairwise

import pytest

from scaled.core.belief import Belief, Mode
from scaled.core.plan import Plan
from scaled.core.rest import Rest
from scaled.core.share import Share
from scaled.core.track import Tracker
from tests.core.scripted import dish

PLAN = Plan.of(dish())
BUILD_G = 240.0
BUILD = Belief(
    mode=Mode.ON, zero_g=0.0, level_g=BUILD_G, level_u_g=0.3, base_g=18.0, base_u_g=0.3,
    group=(3,), start_g=BUILD_G - 12.0, start_u_g=0.3, gestures=1,
    closed=tuple(
        Share((step,), net_g, 0.4, clear=True) for step, net_g in enumerate((120.0, 60.0, 30.0))
    ),
)  # fmt: skip
"""Complete, and still on the pan."""


def after(*levels_g: float, u_g: float = 1.8) -> Tracker:
    """What is believed after rests at these levels, known as badly as a hand trembles."""
    now = Tracker(PLAN)
    now.beliefs = ((1.0, BUILD),)
    for place, level_g in enumerate(levels_g, 1):
        now.advance(Rest(2.0 * place, 2.0 * place + 0.5, level_g, u_g, pause_s=1.0))
    return now


def as_it_was(belief: Belief) -> bool:
    """Whether all of it is taken to be there, whatever is shown."""
    whole = abs(belief.level_g - BUILD_G) < 4.0
    return whole and belief.clear and (belief.mode, belief.closed) == (Mode.ON, BUILD.closed)


@pytest.mark.parametrize("share", [0.25, 0.5, 0.75])
def test_a_bowl_that_was_carried_for_a_while_is_the_same(share: float) -> None:
    assert after((1 - share) * BUILD_G, BUILD_G).probability(as_it_was) > 0.9


@pytest.mark.parametrize("share", [0.05, 0.1])
def test_a_little_less_is_rather_food_that_was_taken_out(share: float) -> None:
    assert after((1 - share) * BUILD_G).probability(as_it_was) < 0.5


def test_the_more_of_it_the_hand_carries_the_likelier_it_carries() -> None:
    chances = [
        after((1 - share) * BUILD_G).probability(as_it_was) for share in (0.1, 0.3, 0.5, 0.7)
    ]
    assert all(less < more for less, more in pairwise(chances))
    assert chances[-1] > 0.9
