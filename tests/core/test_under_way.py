"""A stream that begins, or a bowl that comes, when a build is under way already."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from scaled.core import set_down
from scaled.core.beginning import first
from scaled.core.belief import empty
from scaled.core.events import Attribution, BuildStarted, Portion
from scaled.core.plan import Plan
from scaled.core.rest import Rest
from scaled.core.under_way import under_way
from tests.core.scripted import BOWL_G, CLEAN, assert_never_wrong, dish
from tests.core.scripted_scale import Scale

if TYPE_CHECKING:
    from tests.core.scripted import Hire

PLAN = Plan.of(dish())


def loaded(load_g: float) -> Scale:
    """A scale on which something stands before anybody looks."""
    scale = Scale()
    list(scale.move(load_g, 0.3))
    return scale


def rest(level_g: float) -> Rest:
    return Rest(begin_s=0.0, at_s=1.0, level_g=level_g, u_g=0.3)


@pytest.mark.parametrize(("load_g", "newest"), [(140.0, 0), (200.0, 1), (230.0, 2), (242.0, 3)])
def test_what_is_in_the_bowl_tells_which_step_is_the_newest(load_g: float, newest: int) -> None:
    standing = set_down.started(empty(0.0, 0.1), rest(load_g), 4, None)
    _, likeliest = max(under_way(standing, PLAN), key=lambda pair: pair[0])
    assert likeliest.group == (newest,)
    assert likeliest.ahead == tuple(range(newest + 1, 4))
    assert not any(share.clear for share in likeliest.shares())


def test_an_empty_pan_is_no_build_under_way() -> None:
    beliefs = sorted(first(rest(0.0), PLAN), key=lambda pair: -pair[0])
    assert not beliefs[0][1].strange
    assert sum(chance for chance, belief in beliefs if belief.strange) < 1e-3 * beliefs[0][0]


def test_only_what_was_seen_is_told_of_a_build_under_way(cook: Hire) -> None:
    one = (
        cook(scale=loaded(BOWL_G + 120.0))
        .wait(3.0)
        .put(60.0)
        .wait(2.0)
        .put(30.0)
        .wait(2.0)
        .put(12.0)
    )
    one.lift(off_s=4.0)
    one.put(BOWL_G)
    words = {word.step: word for word in one.told(Portion)}
    assert words["grain"].attribution is Attribution.UNSURE
    assert words["beans"].net_g == pytest.approx(60.0, abs=1.0)
    assert words["sauce"].net_g == pytest.approx(30.0, abs=1.0)


def test_the_build_after_one_under_way_is_told_as_any_other(cook: Hire) -> None:
    one = cook(scale=loaded(BOWL_G + 120.0)).wait(3.0).put(60.0).wait(2.0)
    one.lift(off_s=4.0)
    one.start()
    for gestures in CLEAN:
        one.put(*gestures)
    one.lift(off_s=4.0)
    one.put(BOWL_G)
    last = max(word.build for word in one.told(Portion))
    words = [word for word in one.told(Portion) if word.build == last]
    assert [word.attribution for word in words] == [Attribution.SURE] * 4


def test_a_bowl_filled_elsewhere_is_never_called_short_of_what_is_in_it(cook: Hire) -> None:
    one = cook().wait(2.0).put(BOWL_G + 180.0).wait(2.0).put(30.0).wait(2.0).put(12.0)
    one.lift(off_s=4.0)
    one.put(BOWL_G)
    assert one.told(BuildStarted)
    assert_never_wrong(one, {"grain": 120.0, "beans": 60.0, "sauce": 30.0, "seeds": 12.0})
