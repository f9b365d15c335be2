"""What was missing in a step comes after others were begun."""

from __future__ import annotations

import math

import pytest

from scaled.core import set_down
from scaled.core.belief import Belief, empty
from scaled.core.command import Next, Undo
from scaled.core.events import OutOfOrder, Reopened, Verdict
from scaled.core.food import Change
from scaled.core.late import late
from scaled.core.plan import Plan
from scaled.core.rest import Rest
from scaled.core.share import Share
from tests.core.scripted import ALL_PASS, BOWL_G, GRAIN, Cook, Hire, assert_never_wrong, dish

PLAN = Plan.of(dish())
SHORT = Share((0,), 81.0, 0.3, clear=True)
BETWEEN_G = BOWL_G + 81.0 + 60.0


def standing(*closed: Share, net_g: float = 60.0) -> Belief:
    """The beans are open; these steps are closed."""
    placed = set_down.started(empty(0.0, 0.1), Rest(0.0, 1.0, BOWL_G, 0.3), 4, None)
    started = placed._replace(group=(1,), ahead=(2, 3), closed=closed, start_g=BETWEEN_G - net_g)
    return started.fed(BETWEEN_G, 0.2, 1 if net_g else 0)


def meant(belief: Belief, by_g: float) -> list[tuple[float, Belief]]:
    rest = Rest(9.0, 10.0, BETWEEN_G + by_g, 0.3)
    means = late(belief, Change.of(belief, rest, least=1e-9), PLAN)
    return [(density, after) for density, after, _ in means]


@pytest.mark.parametrize("net_g", [60.0, 0.0])
def test_the_short_step_holds_the_sum_and_the_open_one_what_it_did(net_g: float) -> None:
    before = standing(SHORT, net_g=net_g)
    ((_, after),) = meant(before, 39.0)
    ((group, sum_g, u_g, clear),) = after.closed
    assert (group, sum_g, clear) == ((0,), 120.0, True)
    assert u_g == pytest.approx(math.hypot(0.3, 0.2, 0.3))
    assert (after.group, after.gestures) == (before.group, before.gestures)
    assert after.net_g == pytest.approx(net_g)
    assert after.food_g == pytest.approx(before.food_g + 39.0)


def test_a_step_still_empty_begins_where_the_rest_is_once_it_is_known_better() -> None:
    ((_, after),) = meant(standing(SHORT, net_g=0.0), 39.0)
    rest = Rest(9.0, 11.0, after.level_g + 0.4, 0.1)
    assert after.revised(after.level_g, rest).net_g == 0.0


def test_it_is_done_again_by_that() -> None:
    sauce = Share((2,), 30.0, 0.3, clear=True)
    ((_, after),) = meant(standing(SHORT, sauce), 39.0)
    assert [share.group for share in after.closed] == [(2,), (0,)]


def test_what_is_missing_is_likelier_than_anything_else() -> None:
    densities = {by_g: meant(standing(SHORT), by_g)[0][0] for by_g in (15.0, 39.0, 80.0)}
    assert densities[39.0] > 3 * max(densities[15.0], densities[80.0])


def test_who_wants_more_in_the_open_step_adds_to_no_other() -> None:
    ((now, _),) = meant(standing(SHORT), 39.0)
    ((before, _),) = meant(standing(SHORT, net_g=40.0), 39.0)
    assert before < now / 10


@pytest.mark.parametrize(
    ("share", "by_g"),
    [
        (Share((0,), 112.0, 0.3, clear=True), 8.0),
        (Share((0, 2), 81.0, 0.3, clear=True), 39.0),
        (SHORT, -39.0),
        (SHORT, 3000.0),
    ],
    ids=["enough", "two-together", "less", "too-much"],
)
def test_nothing_else_is_made_up_for(share: Share, by_g: float) -> None:
    assert meant(standing(share), by_g) == []


def test_a_scoop_forgotten_and_brought_later_makes_its_step_good(cook: Hire) -> None:
    one = cook().build(GRAIN[:2], (60.0,), (30.0,), (39.0,), (12.0,))
    assert one.verdicts() == ALL_PASS
    assert one.portion("grain").net_g == pytest.approx(120.0, abs=1.0)
    assert one.portion("sauce").net_g == pytest.approx(30.0, abs=1.0)
    assert one.finished().verdict is Verdict.PASS
    assert one.told(OutOfOrder) == []


def closed_short(cook: Hire) -> Cook:
    """A person closes the grain with a scoop to go, and brings it after the beans."""
    one = cook().start().put(*GRAIN[:2])
    one.tell(Next())
    return one.put(60.0).wait(1.0).put(39.0).wait(1.0)


def test_a_word_that_was_said_stays_said(cook: Hire) -> None:
    one = closed_short(cook)
    one.put(30.0).wait(1.0).put(12.0)
    one.lift(off_s=4.0)
    assert one.portion("grain").verdict is Verdict.UNDER
    assert_never_wrong(one, {"grain": 81.0})
    assert one.told(OutOfOrder) == []


def test_it_can_be_taken_back_by_hand(cook: Hire) -> None:
    one = closed_short(cook)
    one.tell(Undo())
    one.tell(Undo())
    assert [event.step for event in one.told(Reopened)] == ["grain"]
    assert one.live.step == "grain"
