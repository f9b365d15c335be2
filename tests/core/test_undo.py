"""What "not begun" and "not done" may mean, by hand-made beliefs."""

from __future__ import annotations

import pytest

from scaled.core.belief import Belief, Mode
from scaled.core.errors import CommandRefused
from scaled.core.guide import Guide
from scaled.core.ledger import Ledger
from scaled.core.plan import Plan
from scaled.core.share import Share
from scaled.core.track import Tracker, Weighed
from scaled.core.undo import BEFORE, is_in, not_begun, not_done, step_back
from tests.core.scripted import dish

PLAN = Plan.of(dish())
GRAIN, BEANS, SAUCE, SEEDS = range(4)
NONE_SAID: frozenset[int] = frozenset()


def belief(*groups: tuple[int, ...], level_g: float = 180.0, gestures: int = 1) -> Belief:
    """A bowl of 20 g with these steps in it; 120 g belong to the closed ones, if there are any."""
    done = {i for group in groups for i in group}
    net_g = 120.0 / max(1, len(groups) - 1)
    return Belief(
        mode=Mode.ON, zero_g=0.0, level_g=level_g, level_u_g=0.3, base_g=20.0, base_u_g=0.3,
        group=groups[-1], ahead=tuple(i for i in range(4) if i not in done),
        start_g=140.0 if len(groups) > 1 else 20.0, start_u_g=0.3, gestures=gestures,
        closed=tuple(Share(group, net_g, 0.4, clear=True) for group in groups[:-1]),
    )  # fmt: skip


def believing(*weighed: Weighed) -> tuple[Tracker, Guide]:
    """A tracker and a guide that believe the same."""
    both = Tracker(PLAN), Guide(PLAN)
    for one in both:
        one.beliefs = weighed
    return both


def after(shown: Belief, *others: Weighed, said: frozenset[int] = NONE_SAID) -> Belief:
    """What is believed when the open step of what was shown was not begun."""
    left = 1.0 - sum(chance for chance, _ in others)
    tracker, guide = believing((left, shown), *others)
    assert not_begun(shown, tracker, guide, said)
    assert tracker.best == guide.best
    assert tracker.best is not None
    return tracker.best


def test_what_else_it_may_be_is_believed() -> None:
    shown, grain = belief((BEANS,), (SAUCE,)), belief((GRAIN,), gestures=4)
    assert after(shown, (0.4, grain)) == grain


def test_the_step_before_is_meant_rather_than_another_one() -> None:
    shown = belief((GRAIN,), (BEANS,))
    grain, sauce = belief((GRAIN,), gestures=2), belief((GRAIN,), (SAUCE,))
    share = 0.5 / BEFORE
    assert after(shown, (0.3, sauce), (1.2 * 0.3 / BEFORE, grain)) == grain
    assert after(shown, (share, sauce), (0.8 * share / BEFORE, grain)) == sauce


@pytest.mark.parametrize(
    ("shown", "group", "closed", "ahead"),
    [
        (belief((GRAIN,), (BEANS,)), (GRAIN,), [], (BEANS, SAUCE, SEEDS)),
        (belief((BEANS,)), (GRAIN,), [], (BEANS, SAUCE, SEEDS)),
        (belief((GRAIN,), (SEEDS,)), (SAUCE,), [(GRAIN,)], (BEANS, SEEDS)),
        (belief((GRAIN,), (BEANS, SAUCE)), (BEANS,), [(GRAIN,)], (SAUCE, SEEDS)),
    ],
    ids=["the one before", "passed over at first", "passed over", "poured together"],
)
def test_without_another_idea_it_belongs_to_the_step_before(
    shown: Belief, group: tuple[int, ...], closed: list[tuple[int, ...]], ahead: tuple[int, ...]
) -> None:
    best = after(shown, (0.05, belief((GRAIN,), (SAUCE,), level_g=180.0)))
    assert (best.group, [share.group for share in best.closed], best.ahead) == (
        group,
        closed,
        ahead,
    )
    assert best.level_g == shown.level_g
    assert best.food_g == shown.food_g


def test_what_does_not_explain_the_weight_is_not_meant() -> None:
    shown = belief((GRAIN,), (BEANS,))
    lower = belief((GRAIN,), level_g=140.0)
    best = after(shown, (0.4, lower))
    assert (best.group, best.net_g) == ((GRAIN,), 160.0)


def test_a_step_with_its_last_word_said_takes_no_more() -> None:
    shown, grain = belief((GRAIN,), (BEANS,)), belief((GRAIN,), gestures=2)
    sauce = belief((GRAIN,), (SAUCE,))
    said = frozenset({GRAIN})
    tracker, guide = believing((0.6, shown), (0.4, grain))
    assert not not_begun(shown, tracker, guide, said)
    assert tracker.best == guide.best == shown
    assert after(shown, (0.2, grain), (0.2, sauce), said=said) == sauce


def test_a_step_with_nothing_in_it_gives_way_to_the_one_before() -> None:
    empty = belief((GRAIN,), (BEANS,), level_g=140.0, gestures=0)
    best = after(empty, (0.3, belief((GRAIN,), (SAUCE,), level_g=140.0)))
    assert (best.group, best.net_g) == ((GRAIN,), 120.0)
    first = belief((GRAIN,), level_g=20.0, gestures=0)
    tracker, guide = believing((1.0, first))
    assert not not_begun(first, tracker, guide, NONE_SAID)


@pytest.mark.parametrize("groups", [((GRAIN,),), ((GRAIN,), (BEANS,))])
@pytest.mark.parametrize("said", [NONE_SAID, frozenset({GRAIN})])
def test_an_unclear_weight_that_is_not_this_step_is_nobodys(
    groups: tuple[tuple[int, ...], ...], said: frozenset[int]
) -> None:
    shown = belief(*groups)._replace(clear=False, strange=True)
    best = after(shown, (0.05, belief((GRAIN,), (SAUCE,))), said=said)
    assert (best.group, best.gestures, best.clear, best.strange) == (groups[-1], 0, True, True)
    assert best.net_g == 0.0
    assert best.level_g == shown.level_g


def test_where_the_zero_lies_stays_in_doubt_when_a_weight_is_nobodys() -> None:
    tared = belief((GRAIN,))._replace(clear=False, strange=True, zero_g=-300.0)
    known, beans = tared._replace(zero_g=0.0), belief((GRAIN,), (BEANS,))
    tracker, guide = believing((0.6, tared), (0.38, known), (0.02, beans))
    assert not_begun(tared, tracker, guide, NONE_SAID)
    for one in (tracker, guide):
        assert [(b.zero_g, b.net_g, b.gestures) for _, b in one.beliefs] == [
            (-300.0, 0.0, 0),
            (0.0, 0.0, 0),
        ]
    tracker.beliefs, guide.beliefs = ((1.0, beans),), ((1.0, tared),)
    assert not_begun(tared, tracker, guide, NONE_SAID)
    assert tracker.best == guide.best


def test_a_step_that_is_in_is_judged_by_its_weight_and_stays_unclear_in_the_log() -> None:
    shown = belief((GRAIN,), (BEANS,))._replace(clear=False)
    tracker, guide = believing((0.5, shown), (0.5, belief((GRAIN,))))
    is_in(shown, tracker, guide)
    assert tracker.beliefs == ((1.0, shown),)
    assert guide.beliefs == ((1.0, shown._replace(clear=True)),)


def test_what_only_the_screen_believed_is_believed_then() -> None:
    shown, grain = belief((BEANS,), (SAUCE,)), belief((GRAIN,), gestures=4)
    tracker, guide = believing((0.6, shown), (0.4, grain))
    tracker.beliefs = ((1.0, shown),)
    assert not_begun(shown, tracker, guide, NONE_SAID)
    assert tracker.best == guide.best == grain


def test_a_step_that_is_not_done_takes_all_that_came_since() -> None:
    shown = belief((GRAIN,), (BEANS,))
    tracker, guide = believing((1.0, shown))
    then = (0.7, belief((GRAIN,), level_g=140.0)), (0.3, belief((BEANS,), level_g=140.0))
    not_done((GRAIN,), then, shown, tracker, guide)
    assert [(b.group, b.net_g) for _, b in tracker.beliefs] == [((GRAIN,), 160.0)]
    assert guide.beliefs == tracker.beliefs


def test_no_to_what_is_in_doubt_leaves_the_container_as_empty_as_it_is() -> None:
    """The screen asked whether the first step is in, of which it saw nothing."""
    empty = belief((GRAIN,), level_g=21.0, gestures=0)
    unlikely = empty._replace(start_g=24.0, level_u_g=2.0)
    tracker, guide = believing((0.5, empty), (0.1, unlikely), (0.4, belief((GRAIN,), level_g=2.0)))
    assert step_back(empty, tracker, guide, Ledger(PLAN, 1, 0.0)) == ()
    for one in (tracker, guide):
        assert one.probability(lambda it: it.level_g == it.start_g == 21.0) == pytest.approx(1.0)


def test_no_to_what_may_be_the_first_food_is_taken_for_an_answer() -> None:
    empty = belief((GRAIN,), level_g=24.0, gestures=0)
    tracker, guide = believing((0.5, empty), (0.5, belief((GRAIN,), level_g=24.0)))
    assert step_back(empty, tracker, guide, Ledger(PLAN, 1, 0.0)) == ()
    assert [(it.gestures, it.net_g) for _, it in guide.beliefs] == [(0, 0.0)]


def test_where_nothing_is_in_doubt_there_is_nothing_to_undo() -> None:
    empty = belief((GRAIN,), level_g=20.0, gestures=0)
    tracker, guide = believing((0.9, empty), (0.1, belief((GRAIN,))))
    with pytest.raises(CommandRefused, match="no step of this build is done yet"):
        step_back(empty, tracker, guide, Ledger(PLAN, 1, 0.0))
    assert tracker.best == empty
