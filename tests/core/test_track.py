"""Several hypotheses with exact bookkeeping of probability."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from scaled.core import by_hand
from scaled.core.belief import Mode
from scaled.core.food import Move
from scaled.core.plan import Plan
from scaled.core.rest import Rest
from scaled.core.share import Ended
from scaled.core.track import MOST, Tracker
from tests.core.scripted import dish

PLAN = Plan.of(dish())
MANY = 200
"""Far more beliefs than a kitchen needs: more would mean that none are ever dropped."""


def rest(level_g: float, u_g: float = 0.3, pause_s: float = 2.0, *, abrupt: bool = False) -> Rest:
    return Rest(0.0, 0.4, level_g, u_g, pause_s, abrupt=abrupt)


def tracked(*levels_g: float) -> Tracker:
    tracker = Tracker(PLAN)
    for level_g in levels_g:
        tracker.advance(rest(level_g))
    return tracker


# What a rest means.


def test_before_the_first_rest_nothing_is_known() -> None:
    tracker = Tracker(PLAN)
    assert tracker.best is None
    assert tracker.beliefs == ()
    assert tracker.probability(lambda _: True) == tracker.confidence == 0.0


@pytest.mark.parametrize(
    ("before", "level_g", "move"),
    [
        ((0.0,), 20.0, Move.PLACED),
        ((0.0, 20.0), 60.0, Move.ADDED),
        ((0.0, 20.0, 60.0, 100.0, 140.0), 200.0, Move.BEGUN),
        ((0.0, 20.0, 60.0), 60.0, Move.SAME),
        ((0.0, 20.0, 60.0, 100.0), 0.0, Move.LIFTED),
        ((0.0, 20.0, 60.0, 100.0, 0.0), 100.0, Move.RETURNED),
        ((0.0, 20.0, 60.0, 100.0, 160.0), 140.0, Move.TAKEN),
        ((0.0,), 0.0, Move.SAME),
    ],
)
def test_plain_moves_are_told_apart(before: tuple[float, ...], level_g: float, move: Move) -> None:
    moves = tracked(*before).advance(rest(level_g)).chances
    assert moves[move] > 0.5


def test_a_shoulder_over_a_build_ended_by_a_key_means_nothing() -> None:
    tracker = tracked(0.0, 20.0, 60.0)
    tracker.change(by_hand.emptied)
    tracker.advance(Rest(12.0, 12.2, 140.0, 2.0, settled=False, doubt=0.2))
    tracker.advance(rest(60.0))
    best = tracker.best
    assert best is not None
    assert (best.mode, best.level_g) == (Mode.REPORTED, 60.0)


def test_a_hand_that_is_felt_twice_is_one_hand() -> None:
    tracker = tracked(0.0, 20.0)
    tracker.advance(Rest(2.0, 2.4, 58.0, 1.2, settled=False, doubt=0.2))
    tracker.advance(Rest(2.5, 3.0, 56.5, 0.3))  # the press, more quietly
    tracker.advance(rest(20.0))
    assert tracker.probability(lambda b: b.group == (0,) and not b.gestures and b.clear) > 0.9


def test_a_rest_that_is_soon_over_may_have_been_a_hand() -> None:
    """Measured on simulated cooks: 13 % of such rests are false, 0.3 % of longer ones."""
    felt = []
    for pause_s in (0.5, 0.9, 2.0):
        tracker = tracked(0.0, 20.0, 34.0)
        tracker.advance(rest(60.0, pause_s=pause_s))
        felt.append(tracker.probability(lambda b: b.gestures == 1 and not b.closed))
    assert felt[0] > felt[1] > felt[2]


def test_a_rest_that_stands_on_at_nearly_the_same_level_was_not_soon_over() -> None:
    felt = []
    for pause_s in (0.5, 2.0):
        tracker = tracked(0.0, 20.0)
        tracker.advance(rest(140.0)._replace(left_g=20.0))
        tracker.advance(rest(140.1, pause_s=pause_s)._replace(left_g=140.0))
        felt.append(tracker.probability(lambda b: not b.gestures))
    assert felt[0] == pytest.approx(felt[1], rel=0.2)  # soon over, it was eleven times as likely


def test_a_small_shoulder_is_as_doubtful_as_a_large_one() -> None:
    """A shoulder that is no rest is as often 10 to 20 g high as 100 to 200 g."""
    doubts = []
    for height_g in (10.0, 20.0, 40.0):
        tracker = tracked(0.0, 20.0)
        moves = tracker.advance(
            Rest(2.0, 2.4, 20.0 + height_g, 2.0, settled=False, doubt=0.2)
        ).chances
        doubts.append(moves[Move.PRESSED] * height_g / sum(moves.values()))
    assert doubts[0] > doubts[2]


@pytest.mark.parametrize("bowl_g", [18.5, 20.0, 21.5])
def test_a_bowl_tared_as_soon_as_it_stood_hides_no_food(bowl_g: float) -> None:
    """A first scoop of 55 g, or the bowl and 35 g: the empty pan shows which."""
    lifted = tracked(0.0, 20.0, 0.0)
    lifted.change(by_hand.emptied)  # zero is known: nothing was tared before the station looked
    for level_g in (55.0, 84.0, 120.0, 180.0, -bowl_g):
        lifted.advance(rest(level_g))
    assert lifted.best is not None
    assert [share.net_g for share in lifted.best.closed] == pytest.approx([120.0])
    assert lifted.best.tare_g == pytest.approx(bowl_g)
    assert lifted.confidence > 0.9
    back = lifted.advance(rest(180.0)).chances
    assert back[Move.RETURNED] > 0.9


def test_what_fits_no_portion_is_a_hand_or_unexplained() -> None:
    moves = tracked(0.0, 20.0, 60.0).advance(rest(3000.0)).chances
    assert moves[Move.PRESSED] + moves[Move.UNKNOWN] > 0.99


def test_a_jump_to_zero_is_a_key_and_a_slope_to_zero_a_lift() -> None:
    key = tracked(0.0, 20.0, 60.0, 100.0).advance(rest(0.0, abrupt=True)).chances
    lift = tracked(0.0, 20.0, 60.0, 100.0).advance(rest(0.0)).chances
    assert key[Move.REZEROED] > key[Move.LIFTED]
    assert lift[Move.LIFTED] > lift[Move.REZEROED]


def test_a_whole_build_is_attributed_step_by_step() -> None:
    tracker = tracked(0.0, 20.0, 60.0, 101.0, 140.0, 200.0, 230.0, 242.0)
    best = tracker.best
    assert best is not None
    assert [(share.group, share.net_g) for share in best.shares()] == [
        ((0,), 120.0), ((1,), 60.0), ((2,), 30.0), ((3,), 12.0),
    ]  # fmt: skip
    assert tracker.probability(lambda b: b.group == (3,) and b.mode is Mode.ON) > 0.9


# Probabilities.

levels = st.one_of(
    st.sampled_from([0.0, 20.0, 60.0, 100.0, 140.0, 200.0, 230.0, 242.0, -20.0, 18.5, 3000.0]),
    st.floats(-1e5, 1e5),
)


def seen(level_g: float, u_g: float, pause_s: float, peak_g: float, *, abrupt: bool) -> Rest:
    return Rest(0.0, 0.4, level_g, u_g, pause_s, peak_g=peak_g, abrupt=abrupt)


rests = st.builds(
    seen,
    level_g=levels,
    u_g=st.floats(0.02, 5.0),
    pause_s=st.floats(0.0, 1000.0),
    peak_g=st.one_of(st.just(-math.inf), levels),
    abrupt=st.booleans(),
)


@given(st.lists(rests, max_size=14))
@settings(max_examples=60)
def test_probabilities_sum_to_one_whatever_comes(sequence: list[Rest]) -> None:
    tracker = Tracker(PLAN)
    for count, it in enumerate(sequence):
        moves = tracker.advance(it).chances
        chances = [chance for chance, _ in tracker.beliefs]
        assert sum(chances) == pytest.approx(1.0)
        assert chances == sorted(chances, reverse=True)
        assert chances[-1] > 0
        assert len(chances) <= MANY
        assert tracker.best is tracker.beliefs[0][1]
        if count:
            assert sum(moves.values()) == pytest.approx(1.0)
            assert min(moves.values()) >= 0
        else:
            assert moves == {}


@given(st.lists(rests, max_size=14))
@settings(max_examples=60)
def test_no_step_is_lost_and_none_counts_twice(sequence: list[Rest]) -> None:
    """Every step is closed, open or ahead."""
    tracker = Tracker(PLAN)
    for it in sequence:
        tracker.advance(it)
        for _, belief in tracker.beliefs:
            if belief.mode is Mode.EMPTY:
                continue
            closed = [step for share in belief.closed for step in share.group]
            assert sorted([*closed, *belief.group, *belief.ahead]) == [0, 1, 2, 3]
            assert list(belief.ahead) == sorted(belief.ahead)
            assert belief.level_u_g > 0


@given(st.lists(rests, max_size=10))
@settings(max_examples=60)
def test_the_same_rests_give_the_same_beliefs(sequence: list[Rest]) -> None:
    one, other = Tracker(PLAN), Tracker(PLAN)
    assert [one.advance(it) for it in sequence] == [other.advance(it) for it in sequence]
    assert one.beliefs == other.beliefs


# An offset of just a bowl's weight is a bowl that stood there already.
@given(st.floats(-2000, 2000).filter(lambda offset_g: not 10 < offset_g < 30))
@settings(max_examples=60)
def test_a_scale_not_zeroed_tells_the_same_story(offset_g: float) -> None:
    loads = (0.0, 20.0, 60.0, 101.0, 140.0, 200.0, 0.0, 200.0, 230.0)
    plain = tracked(*loads).best
    shifted = tracked(*(load + offset_g for load in loads)).best
    assert plain is not None
    assert shifted is not None
    assert shifted.group == plain.group
    assert [share.net_g for share in shifted.shares()] == pytest.approx(
        [share.net_g for share in plain.shares()], abs=1e-6
    )


# What is known from outside.


def test_a_condition_keeps_the_beliefs_in_which_it_holds() -> None:
    tracker = tracked(0.0, 20.0, 60.0, 100.0, 160.0)
    groups = {belief.group for _, belief in tracker.beliefs}
    assert len(groups) > 1
    for group in groups:
        one = tracked(0.0, 20.0, 60.0, 100.0, 160.0)
        share = one.probability(lambda b, group=group: b.group == group)  # type: ignore[misc]
        kept = [pair for pair in one.beliefs if pair[1].group == group]
        one.condition(lambda b, group=group: b.group == group)  # type: ignore[misc]
        assert [belief for _, belief in one.beliefs] == [belief for _, belief in kept]
        assert [chance for chance, _ in one.beliefs] == pytest.approx(
            [chance / share for chance, _ in kept]
        )


def test_a_condition_nothing_fulfils_is_not_believed() -> None:
    tracker = tracked(0.0, 20.0, 60.0)
    before = tracker.beliefs
    tracker.condition(lambda _: False)
    assert tracker.beliefs == before


def test_beliefs_that_become_equal_are_one() -> None:
    tracker = tracked(0.0, 20.0, 60.0, 100.0, 160.0)
    tracker.change(by_hand.emptied)
    assert len({belief for _, belief in tracker.beliefs}) == len(tracker.beliefs)
    assert tracker.probability(lambda b: b.mode is Mode.REPORTED) == pytest.approx(1.0)


def test_a_level_known_better_moves_the_weight_of_the_open_step() -> None:
    tracker = tracked(0.0, 20.0, 60.0)
    tracker.revise(60.0, rest(60.4, 0.2))
    assert tracker.best is not None
    assert tracker.best.net_g == pytest.approx(40.4)


def test_of_too_many_beliefs_those_that_tell_the_same_story_are_one() -> None:
    """A fine scale over a load that creeps must not crowd out every other story."""
    tracker = tracked(0.0, 20.0, 60.0)
    ((_, best), *_) = tracker.beliefs
    odd = best.unexplained(100.0)
    creeping = [best.at(best.level_g + 0.002 * i, 0.1) for i in range(MOST + 20)]
    tracker.beliefs = tuple((1.0, belief) for belief in (*creeping, odd))
    tracker.change(lambda belief: belief)
    assert len(tracker.beliefs) < 4
    assert tracker.probability(lambda b: b == odd) == pytest.approx(1 / (MOST + 21))
    assert sum(chance for chance, _ in tracker.beliefs) == pytest.approx(1.0)
    assert all(belief in (*creeping, odd) for _, belief in tracker.beliefs)
    left = [belief.lifted(0.0)._replace(ended=belief.end()) for belief in creeping]
    tracker.beliefs = tuple((1.0, belief) for belief in left)
    tracker.change(lambda belief: belief)
    assert len(tracker.beliefs) < 4


def test_stories_of_different_builds_are_not_alike() -> None:
    """What is in this build and what was in the last one, food and none, vague and sharp."""
    tracker = tracked(0.0, 20.0, 60.0, 100.0, 140.0, 200.0)
    ((_, best), *_) = tracker.beliefs
    ended = best._replace(closed=(), ended=Ended(best.closed, 120.0, 0.4))
    none = best._replace(closed=(), ended=None)
    vague = best._replace(start_u_g=20.0)
    creeping = [best.at(best.level_g + 0.002 * i, 0.1) for i in range(MOST)]
    odd = (ended, none, vague, best._replace(gestures=0))
    tracker.beliefs = tuple((1.0, belief) for belief in (*creeping, *odd))
    tracker.change(lambda belief: belief)
    assert {belief for _, belief in tracker.beliefs} >= {*odd}
    assert len(tracker.beliefs) < 4 + len(odd)
