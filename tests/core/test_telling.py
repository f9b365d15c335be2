"""What a rest meant, told as an event when it is sure and not before."""

from __future__ import annotations

import pytest

from scaled.core.belief import Belief, Mode
from scaled.core.events import Event, Lifted, OutOfOrder, Returned, Rezeroed, TakenBack, Verdict
from scaled.core.food import Move
from scaled.core.meant import Meant, Moved
from scaled.core.plan import Plan
from scaled.core.rest import Rest
from scaled.core.telling import Before, told_moves, told_settled
from scaled.core.track import Tracker
from tests.core.scripted import dish

PLAN = Plan.of(dish())
AT = (9.5, 2)
REST = Rest(begin_s=9.0, at_s=9.5, level_g=80.0, u_g=0.3)


def belief(
    level_g: float, group: tuple[int, ...] = (0,), *, gestures: int = 1, zero_g: float = 0.0
) -> Belief:
    """A bowl of 20 g with food up to ``level_g``, all of it in the open step."""
    return Belief(
        mode=Mode.ON, zero_g=zero_g, level_g=level_g, level_u_g=0.3, base_g=zero_g + 20.0,
        base_u_g=0.3, group=group, ahead=tuple(step for step in range(4) if step not in group),
        start_g=zero_g + 20.0, start_u_g=0.3, gestures=gestures,
    )  # fmt: skip


def told(
    move: Move, was: Belief | None, best: Belief, chance: float = 0.99, stood_g: float = 60.0
) -> list[Event]:
    now = Tracker(PLAN)
    now.beliefs = ((1.0, best),)
    means = [(chance, best, move), (1 - chance, was or best, Move.SAME)]
    moved = Moved.of([(1.0, was or best, Meant(0.0, chance, means))])
    return told_moves(moved, Before(was, stood_g), now, PLAN, AT)


ONE = belief(60.0)
MOVES = [
    (Move.LIFTED, ONE, ONE.lifted(0.0), Lifted(t=9.5, build=2, net_g=40.0)),
    (Move.RETURNED, ONE, belief(62.0), Returned(t=9.5, build=2, net_g=42.0, change_g=2.0)),
    (Move.TAKEN, ONE, belief(50.0), TakenBack(t=9.5, build=2, step="grain", amount_g=10.0)),
    (Move.REZEROED, ONE, ONE.shown_at(0.0, 0.3), Rezeroed(t=9.5, build=2, shift_g=-60.0)),
]


@pytest.mark.parametrize(("move", "was", "best", "event"), MOVES)
def test_a_sure_move_is_told(move: Move, was: Belief, best: Belief, event: Event) -> None:
    assert told(move, was, best) == [event]


def test_what_is_no_lighter_was_not_taken_back() -> None:
    """The likeliest story after a rest need not be the likeliest one of before."""
    assert told(Move.TAKEN, ONE, belief(61.0)) == []


@pytest.mark.parametrize(("move", "was", "best", "event"), MOVES)
def test_a_doubtful_move_is_not_told(move: Move, was: Belief, best: Belief, event: Event) -> None:
    assert event not in told(move, was, best, chance=0.6)


def test_what_falls_from_where_nothing_lay_still_is_not_told_as_taken() -> None:
    assert told(Move.TAKEN, ONE, belief(50.0), stood_g=20.0) == []


@pytest.mark.parametrize("move", [Move.SAME, Move.ADDED, Move.PRESSED, Move.UNKNOWN, Move.PLACED])
def test_what_is_no_news_is_not_told(move: Move) -> None:
    assert told(move, ONE, ONE) == []


def test_a_key_pressed_amid_another_move_is_told() -> None:
    keyed = ONE.shown_at(0.0, 0.3)
    assert told(Move.ADDED, ONE, keyed) == [Rezeroed(t=9.5, build=2, shift_g=-60.0)]
    assert told(Move.PRESSED, ONE, keyed) == [Rezeroed(t=9.5, build=2, shift_g=-60.0)]


def test_an_empty_pan_seen_where_no_zero_was_is_no_key() -> None:
    assert told(Move.LIFTED, ONE, ONE.lifted(-60.0)) == [Lifted(t=9.5, build=2, net_g=40.0)]


def test_a_zero_that_drifts_is_no_key() -> None:
    assert told(Move.ADDED, ONE, ONE.rezeroed(2.0)) == []


def test_the_first_rest_tells_of_no_move() -> None:
    assert told(Move.LIFTED, None, ONE) == []


def test_leaving_the_order_is_told_with_what_was_due() -> None:
    later = OutOfOrder(t=9.5, build=2, step="sauce", expected="beans")
    assert told(Move.BEGUN, ONE, ONE.opened((2,))) == [later]
    nothing_yet = belief(20.0, gestures=0)
    first = OutOfOrder(t=9.5, build=2, step="beans", expected="grain")
    assert told(Move.BEGUN, nothing_yet, nothing_yet.opened((1,))) == [first]


def test_the_next_step_in_turn_is_no_news() -> None:
    assert told(Move.BEGUN, ONE, ONE.opened((1,))) == []
    assert told(Move.BEGUN, ONE, belief(110.0, group=(0, 1))) == []


@pytest.mark.parametrize(
    ("net_g", "verdict"),
    [
        (40.0, None),
        (110.9, None),
        (111.0, Verdict.PASS),
        (120.0, Verdict.PASS),
        (140.0, Verdict.OVER),
    ],
)
def test_a_rest_is_good_or_too_much_but_never_under(net_g: float, verdict: Verdict | None) -> None:
    said = told_settled(belief(20.0 + net_g), 1.0, REST, PLAN, AT)
    assert (said.t, said.build, said.step) == (9.5, 2, "grain")
    assert said.net_g == pytest.approx(net_g)
    assert said.verdict is verdict


def test_a_rest_of_a_doubtful_step_is_unsure() -> None:
    said = told_settled(belief(140.0), 0.6, REST, PLAN, AT)
    assert said.verdict is Verdict.UNSURE
    assert said.confidence == pytest.approx(0.6)


@pytest.mark.parametrize("best", [belief(20.0, gestures=0), ONE.lifted(0.0)])
def test_a_rest_without_food_belongs_to_no_step(best: Belief) -> None:
    said = told_settled(best, 0.99, REST, PLAN, AT)
    assert (said.step, said.net_g, said.verdict) == (None, None, None)
    assert said.u_g == REST.u_g


def test_a_rest_inside_a_guard_band_is_not_finished_below_and_unsure_above() -> None:
    guarded = Plan.of(dish(("revision = ", 'acceptance = "guarded"\nrevision = ')))
    assert told_settled(belief(20.0 + 111.5), 1.0, REST, guarded, AT).verdict is None
    assert told_settled(belief(20.0 + 120.0), 1.0, REST, guarded, AT).verdict is Verdict.PASS
    assert told_settled(belief(20.0 + 128.5), 1.0, REST, guarded, AT).verdict is Verdict.UNSURE
