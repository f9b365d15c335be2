"""What becomes of a build when a person says so with a key of the screen."""

from __future__ import annotations

from scaled.core import by_hand, set_down
from scaled.core.belief import Belief, Mode, empty
from scaled.core.rest import Rest

ZERO_G = 7.0


def begun() -> Belief:
    """A bowl just set down, for three steps."""
    bowl = Rest(begin_s=1.0, at_s=1.4, level_g=ZERO_G + 20.0, u_g=0.3)
    return set_down.started(empty(ZERO_G, 0.3), bowl, 3, None)


def filled(belief: Belief, amount_g: float) -> Belief:
    """One gesture into the open step."""
    return belief.fed(belief.level_g + amount_g, 0.3, belief.gestures + 1)


def test_a_person_closes_a_step_with_whatever_is_in_it() -> None:
    full = by_hand.closed(filled(begun(), 40.0))
    assert full.group == (1,)
    assert [(share.group, share.net_g) for share in full.closed] == [((0,), 40.0)]
    nothing = by_hand.closed(full)
    assert nothing.group == (2,)
    assert [(share.group, share.net_g) for share in nothing.closed][1] == ((1,), 0.0)
    over = by_hand.closed(nothing)
    assert over.group == ()
    assert [share.group for share in over.closed] == [(0,), (1,), (2,)]


def test_a_person_reopens_a_step_with_all_that_came_since() -> None:
    grain = filled(begun(), 40.0)
    beans = filled(grain.opened((1,)), 60.0)
    again = by_hand.reopened(grain, beans)
    assert again.group == (0,)
    assert again.net_g == 100.0
    assert again.closed == ()


def test_what_stood_on_the_pan_means_nothing_once_it_is_told() -> None:
    standing = filled(begun(), 40.0)
    assert by_hand.emptied(standing.lifted(ZERO_G)) == empty(ZERO_G, 0.3)
    told = by_hand.emptied(standing)
    assert (told.mode, told.level_g, told.closed, told.group) == (
        Mode.REPORTED, standing.level_g, (), ()
    )  # fmt: skip
