from __future__ import annotations

import math
import statistics
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simulators.chance import stream
from simulators.cook import Build, Cook
from simulators.habits import CLEAN, MESSY, PRESETS, Habits
from simulators.portion import Move, plan_portion
from simulators.recipe import RecipeStep, read_recipe
from simulators.stroke import Load
from simulators.truth import DisturbanceKind

SEEDS = st.integers(0, 10_000)
PRESET = st.sampled_from(list(PRESETS.values()))


def cook(recipe_text: str, habits: Habits, seed: int) -> Cook:
    return Cook(read_recipe(recipe_text), habits, stream(seed))


def builds(recipe_text: str, habits: Habits, seed: int, count: int) -> list[Build]:
    one = cook(recipe_text, habits, seed)
    return [one.build() for _ in range(count)]


@given(PRESET, SEEDS)
def test_truth_agrees_with_the_load(recipe_text: str, habits: Habits, seed: int) -> None:
    """Every true rest shows its load from its first moment to its last."""
    for build in builds(recipe_text, habits, seed, 2):
        load = Load(build.strokes)
        for rest in build.truth.rests:
            for t in (rest.start_s, (rest.start_s + rest.end_s) / 2, rest.end_s - 1e-9):
                assert load.at(max(t, rest.start_s)) == pytest.approx(rest.load_g, abs=1e-6)


@given(PRESET, SEEDS)
def test_true_portions_add_up_to_the_last_rest(
    recipe_text: str, habits: Habits, seed: int
) -> None:
    for build in builds(recipe_text, habits, seed, 2):
        truth = build.truth
        last = [rest for rest in truth.rests if rest.end_s <= truth.lifted_s][-1]
        assert last.load_g == pytest.approx(truth.tare_g + truth.net_g, abs=1e-6)
        assert truth.rests[-1].load_g == pytest.approx(0.0, abs=1e-6)


@given(PRESET, SEEDS)
def test_each_portion_is_what_the_load_gained_over_it(
    recipe_text: str, habits: Habits, seed: int
) -> None:
    truth = builds(recipe_text, habits, seed, 1)[0].truth
    done = sorted((p for p in truth.portions if p.turn is not None), key=lambda p: p.turn or 0)
    for portion in done:
        assert portion.start_s is not None
        assert portion.end_s is not None
        assert portion.start_s < portion.end_s
    so_far = truth.tare_g
    for portion, after in zip(done, [*done[1:], None], strict=True):
        so_far += portion.net_g
        if after is None or after.joint_with is None:
            rest = next(r for r in truth.rests if r.start_s >= (portion.end_s or 0.0) - 1e-9)
            assert rest.load_g == pytest.approx(so_far, abs=1e-6)
            assert rest.step == portion.step


@given(PRESET, SEEDS)
def test_a_build_stays_within_its_time(recipe_text: str, habits: Habits, seed: int) -> None:
    start_s = 0.0
    for build in builds(recipe_text, habits, seed, 3):
        truth = build.truth
        assert start_s <= truth.placed_s <= truth.lifted_s <= build.end_s
        assert all(start_s <= s.start_s < s.end_s <= build.end_s for s in build.strokes)
        assert all(start_s <= key.at_s <= build.end_s for key in build.keys)
        assert truth.rests[-1].end_s == build.end_s
        start_s = build.end_s


def test_same_seed_same_builds(recipe_text: str) -> None:
    assert builds(recipe_text, MESSY, 7, 4) == builds(recipe_text, MESSY, 7, 4)
    assert builds(recipe_text, MESSY, 7, 1) != builds(recipe_text, MESSY, 8, 1)


def kinds(recipe_text: str, habits: Habits) -> set[DisturbanceKind]:
    made = builds(recipe_text, habits, 1, 300)
    return {d.kind for build in made for d in build.truth.disturbances}


def test_a_clean_cook_presses_lifts_and_takes_back_and_no_more(recipe_text: str) -> None:
    assert kinds(recipe_text, CLEAN) == {
        DisturbanceKind.PRESS,
        DisturbanceKind.TAKE_BACK,
        DisturbanceKind.LIFT,
    }
    for build in builds(recipe_text, CLEAN, 1, 300):
        assert [portion.turn for portion in build.truth.portions] == [0, 1, 2, 3]
        assert not build.truth.abandoned


def test_a_messy_cook_has_every_habit(recipe_text: str) -> None:
    line = {DisturbanceKind.DROPPED, DisturbanceKind.DUPLICATED, DisturbanceKind.GARBLED}
    assert kinds(recipe_text, MESSY) == set(DisturbanceKind) - line
    truths = [build.truth for build in builds(recipe_text, MESSY, 1, 300)]
    turns = [[p.turn for p in t.portions if p.turn is not None] for t in truths]
    assert any(turn != sorted(turn) for turn in turns)
    assert any(t.portions[1].turn is None and not t.abandoned for t in truths)
    assert any(t.abandoned for t in truths)
    assert any(p.joint_with for t in truths for p in t.portions)


def test_containers_weigh_what_their_tolerance_allows(recipe_text: str) -> None:
    tares = [build.truth.tare_g for build in builds(recipe_text, CLEAN, 2, 300)]
    assert min(tares) >= 18.0
    assert max(tares) <= 22.0
    assert statistics.fmean(tares) == pytest.approx(20.0, abs=0.3)


def test_pauses_have_the_median_asked_for(recipe_text: str) -> None:
    one = cook(recipe_text, CLEAN, 3)
    pauses = [one.pause_s(3.0) for _ in range(4000)]
    assert statistics.median(pauses) == pytest.approx(3.0, rel=0.05)
    logs = [math.log(pause) for pause in pauses]
    assert statistics.stdev(logs) == pytest.approx(CLEAN.pause_spread, rel=0.05)


STEP = RecipeStep("grain", 120.0, 9.0, 9.0, scoops=3)
STEADY = replace(CLEAN, overshoots=0.0, tops_up=0.0, extra_scoop=0.0, spread=0.05)


def portions(habits: Habits, bias: float = 0.0, step: RecipeStep = STEP) -> list[float]:
    rng = stream(9)
    plans = [plan_portion(step, habits, bias, rng) for _ in range(4000)]
    return [math.fsum(g.change_g for g in plan) / step.target_g for plan in plans]


def test_portions_spread_around_the_biased_target() -> None:
    shares = portions(STEADY, bias=0.04)
    assert statistics.fmean(shares) == pytest.approx(1.04, abs=0.003)
    assert statistics.stdev(shares) == pytest.approx(0.05, rel=0.05)


def test_mistakes_come_as_often_as_asked() -> None:
    exact = replace(STEADY, spread=0.0)
    over = portions(replace(exact, overshoots=0.2, takes_back=0.0))
    under = portions(replace(exact, undershoots=0.3))
    assert statistics.fmean(share > 1.15 for share in over) == pytest.approx(0.2, abs=0.03)
    assert statistics.fmean(share < 0.9 for share in under) == pytest.approx(0.3, abs=0.03)
    corrected = portions(replace(exact, overshoots=1.0, takes_back=1.0))
    assert corrected == pytest.approx([1.0] * len(corrected))


@given(SEEDS)
def test_gestures_follow_the_recipe(seed: int) -> None:
    rng = stream(seed)
    assert [g.move for g in plan_portion(STEP, STEADY, 0.0, rng)] == [Move.DROP] * 3
    pinched = replace(STEP, scoops=1, by_fingers=True)
    moves = [g.move for g in plan_portion(pinched, replace(STEADY, sprinkles=1.0), 0.0, rng)]
    assert moves == [Move.SPRINKLE]
    assert all(g.amount_g > 0 for g in plan_portion(STEP, MESSY, 0.0, rng))
