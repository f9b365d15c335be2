"""One hypothesis: what it counts, and how it changes."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core import set_down
from scaled.core.belief import Belief, Mode, empty
from scaled.core.rest import Rest
from scaled.core.share import Ended, Share

weights = st.floats(-500, 3000)


def rest(level_g: float, u_g: float = 0.3) -> Rest:
    return Rest(begin_s=1.0, at_s=1.4, level_g=level_g, u_g=u_g)


def begun(zero_g: float = 0.0, bowl_g: float = 20.0, steps: int = 3) -> Belief:
    """A bowl just set down on a pan shown at ``zero_g``."""
    return set_down.started(empty(zero_g, 0.3), rest(zero_g + bowl_g), steps, None)


def filled(belief: Belief, amount_g: float) -> Belief:
    """One gesture into the open step."""
    more = belief.at(belief.level_g + amount_g, 0.3)
    return more._replace(gestures=belief.gestures + 1)


def test_a_new_build_waits_for_its_first_step() -> None:
    belief = begun()
    assert belief.mode is Mode.ON
    assert belief.group == (0,)
    assert belief.ahead == (1, 2)
    assert belief.net_g == belief.food_g == 0.0
    assert belief.shares() == ()


def test_an_empty_pan_has_no_build() -> None:
    belief = empty(5.0, 0.3)
    assert belief.mode is Mode.EMPTY
    assert (belief.zero_g, belief.level_g, belief.level_u_g) == (5.0, 5.0, 0.3)
    assert belief.shares() == ()


def test_food_counts_into_the_open_step_and_into_the_whole() -> None:
    belief = filled(filled(begun(), 40.0), 41.0)
    assert (belief.net_g, belief.food_g) == (81.0, 81.0)
    then = filled(belief.opened((1,)), 60.0)
    assert (then.net_g, then.food_g) == (60.0, 141.0)
    assert [(share.group, share.net_g) for share in then.closed] == [((0,), 81.0)]
    assert [(share.group, share.net_g) for share in then.shares()] == [((0,), 81.0), ((1,), 60.0)]


# JCGM 100:2008 (GUM), F.2.2.1 twice, added in quadrature (5.1.2): d/sqrt(6) = 0.408248 d.
@pytest.mark.parametrize("division_g", [0.1, 1.0, 5.0])
def test_a_net_weight_is_as_uncertain_as_two_rounded_readings(division_g: float) -> None:
    u_g = division_g / math.sqrt(12)
    belief = set_down.started(empty(0.0, u_g), rest(20.0, u_g), 2, None).at(60.0, u_g)
    assert math.isclose(belief.net_u_g, 0.408248 * division_g, rel_tol=2e-6)
    ended = belief._replace(gestures=1).end()
    assert math.isclose(ended.total_u_g, 0.408248 * division_g, rel_tol=2e-6)
    assert math.isclose(ended.shares[0].u_g, 0.408248 * division_g, rel_tol=2e-6)


def test_a_key_pressed_on_a_level_known_badly_makes_nothing_known_better() -> None:
    """What is in the bowl is the difference of two readings, of which one was bad."""
    belief = begun().fed(120.0, 4.0, 1)
    keyed = belief.shown_at(0.0, 0.3)
    assert keyed.net_g == belief.net_g == 100.0
    assert keyed.level_u_g == 0.3
    assert math.isclose(keyed.net_u_g, math.hypot(belief.net_u_g, 0.3))
    assert (belief.zero_u_g, keyed.zero_u_g, keyed.lifted(-118.0).zero_u_g) == (0.0, 4.0, 0.0)


def test_a_zero_that_was_blurred_is_not_where_it_was_taken_to_be() -> None:
    """Its being elsewhere moves nothing: the build comes back to what it was last shown at."""
    for blurred_g, shown_g in ((4.0, 0.0), (0.1, 2.0)):
        keyed = begun().fed(120.0, blurred_g, 1).shown_at(0.0, 0.3)
        assert keyed.lifted(keyed.zero_g + 2.0).level_g == shown_g


def test_a_zero_that_is_seen_is_known_also_where_it_was_taken_to_be() -> None:
    keyed = begun().fed(120.0, 4.0, 1).shown_at(0.0, 0.3)
    assert keyed.lifted(keyed.zero_g).zero_u_g == 0.0
    following = set_down.started(keyed.lifted(keyed.zero_g), rest(-98.0, 0.3), 3, None)
    assert following.tare_u_g == 0.3


def test_a_zero_seen_better_while_the_build_is_off_moves_what_was_weighed_from_it() -> None:
    """A slow display has not come down yet when the pan is first said to be at rest."""
    off = filled(begun(), 40.0).lifted(1.5)
    back = off.revised(1.5, rest(0.0, 0.3))
    assert (back.zero_g, back.level_g, back.base_g) == (0.0, 60.0, 20.0)
    assert back.net_g == off.net_g
    guessed = off._replace(zero_guessed=True).revised(1.5, rest(0.0, 0.3))
    assert (guessed.zero_g, guessed.level_g) == (0.0, off.level_g)


def test_a_zero_that_nobody_saw_is_known_no_better_when_the_build_leaves() -> None:
    keyed = begun().fed(120.0, 4.0, 1).shown_at(0.0, 0.3)
    off = keyed.lifted()
    assert (off.mode, off.zero_g, off.zero_u_g) == (Mode.OFF, keyed.zero_g, 4.0)


def test_a_key_pressed_on_the_empty_container_leaves_its_food_as_well_known() -> None:
    tared = begun().shown_at(0.0, 0.3)
    assert (tared.start_g, tared.start_u_g) == (0.0, 0.3)
    assert math.isclose(tared.tare_u_g, begun().tare_u_g)


@given(weights, weights, weights)
def test_where_the_scale_shows_zero_does_not_change_what_is_in_the_bowl(
    zero_g: float, seen_g: float, jumped_g: float
) -> None:
    belief = filled(filled(begun(zero_g), 40.0).opened((1,)), 60.0)
    for moved in (
        belief.shown_at(jumped_g, 0.3),
        belief.lifted(seen_g),
        belief.rezeroed(seen_g),
        belief.shown_at(jumped_g, 0.3).lifted(seen_g)._replace(mode=Mode.ON),
    ):
        assert moved.net_g == pytest.approx(60.0, abs=1e-6)
        assert moved.food_g == pytest.approx(100.0, abs=1e-6)
        assert moved.level_g - moved.zero_g == pytest.approx(120.0, abs=1e-6)
        assert moved.closed == belief.closed


@given(weights)
def test_lifting_and_rezeroing_take_the_zero_that_was_seen(seen_g: float) -> None:
    lifted = begun().lifted(seen_g)
    assert lifted.mode is Mode.OFF
    assert lifted.zero_g == pytest.approx(seen_g, abs=1e-9)
    assert begun().rezeroed(seen_g).zero_g == pytest.approx(seen_g, abs=1e-9)


def test_a_display_that_jumped_shows_the_build_where_it_was_seen() -> None:
    assert begun().shown_at(-3.0, 0.3).level_g == pytest.approx(-3.0)


def test_passing_over_an_empty_step_leaves_it_for_later() -> None:
    belief = begun().opened((2,))
    assert belief.group == (2,)
    assert belief.ahead == (0, 1)
    assert belief.closed == ()


def test_two_steps_can_be_open_together() -> None:
    belief = filled(filled(begun(), 40.0).opened((1, 2)), 90.0)
    assert belief.ahead == ()
    assert [share.group for share in belief.shares()] == [(0,), (1, 2)]


def test_a_new_bowl_remembers_the_build_before_it_until_that_is_told() -> None:
    ended = filled(begun(), 40.0).end()
    assert ended == Ended(ended.shares, 40.0, ended.total_u_g)
    assert ended.shares == (Share((0,), 40.0, ended.shares[0].u_g, clear=True),)
    new = set_down.started(empty(0.0, 0.3), rest(21.0), 3, ended)
    assert new.fresh
    assert new.ended is ended
    assert new.net_g == new.food_g == 0.0


def test_a_level_known_better_moves_what_hangs_on_it() -> None:
    bowl = begun()
    sharper = bowl.revised(20.0, rest(20.4, 0.2))
    assert (sharper.level_g, sharper.base_g, sharper.start_g) == (20.4, 20.4, 20.4)
    assert sharper.net_g == sharper.food_g == 0.0
    food = filled(sharper, 40.0)
    later = food.revised(food.level_g, rest(60.1, 0.2))
    assert later.base_g == 20.4
    assert later.net_g == pytest.approx(39.7)
    assert later.net_u_g == pytest.approx(math.hypot(0.2, 0.2))


def test_a_level_that_is_not_its_own_moves_nothing() -> None:
    bowl = begun()
    assert bowl.revised(99.0, rest(20.4)) == bowl
    off = bowl.lifted(0.0)
    assert off.revised(99.0, rest(98.0)) == off
    assert off.revised(off.zero_g, rest(0.3)).zero_g == 0.3
