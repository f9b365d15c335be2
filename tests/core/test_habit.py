"""What a cook usually puts in: learnt slowly, forgotten in time, and never what passes."""

from __future__ import annotations

from random import Random
from statistics import fmean

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core.events import Attribution, Portion, Verdict
from scaled.core.gesture import STEP_SPREAD, added
from scaled.core.habit import FARTHEST, KEPT, Habit, Usual
from scaled.core.plan import Plan
from tests.core.scripted import CLEAN, STEPS, Cook, dish

deviations = st.floats(-1, 3)
builds = st.lists(st.dictionaries(st.integers(0, 3), deviations), max_size=30)


def habit(*many: dict[int, float], steps: int = 4) -> Habit:
    learnt = Habit.unknown(steps)
    for build in many:
        learnt = learnt.after(build)
    return learnt


def test_of_an_unknown_cook_the_standard_is_expected() -> None:
    assert Habit.unknown(3).usual() == (Usual(0.0, STEP_SPREAD),) * 3
    assert habit({}, {}).usual() == (Usual(0.0, STEP_SPREAD),) * 4


@given(builds)
def test_what_is_expected_lies_between_the_target_and_what_was_seen(
    many: list[dict[int, float]],
) -> None:
    learnt = habit(*many)
    for offs, (off, spread) in zip(learnt.offs, learnt.usual(), strict=True):
        assert len(offs) <= KEPT
        least, most = sorted((0.0, fmean(offs) if offs else 0.0))
        assert least - 1e-12 <= off <= most + 1e-12
        assert STEP_SPREAD <= spread <= 1.0


@given(builds, st.randoms(use_true_random=False))
def test_the_order_of_builds_does_not_matter(many: list[dict[int, float]], chance: Random) -> None:
    few = many[:KEPT]
    mixed = chance.sample(few, len(few))
    for one, other in zip(habit(*few).usual(), habit(*mixed).usual(), strict=True):
        assert one == pytest.approx(other)


def test_a_cook_who_is_always_off_by_as_much_is_soon_known() -> None:
    offs = [habit(*[dict.fromkeys(range(4), 0.15)] * n).usual()[0].off for n in range(7)]
    assert offs == sorted(offs)
    assert offs[1] > 0.05
    assert offs[6] > 0.13


def test_chance_is_not_taken_for_a_habit() -> None:
    scattered = [{0: 0.05, 1: -0.05, 2: 0.06, 3: -0.02}, {0: -0.04, 1: 0.06, 2: -0.05, 3: 0.03}]
    assert all(abs(usual.off) < 0.005 for usual in habit(*scattered).usual())


def test_far_off_is_an_accident_and_says_nothing_of_the_eye() -> None:
    assert habit({0: FARTHEST}, {0: 2.4}, {0: -0.9}) == habit({})
    assert Habit.of(("grain",), {"grain": (0.1, 2.4)}) == Habit.of(("grain",), {"grain": (0.1,)})
    assert habit({0: FARTHEST - 0.01}) != habit({})


def test_a_cook_who_learns_is_believed_in_the_end() -> None:
    learner = habit(*[{0: 0.25}] * 20, *[{0: 0.0}] * KEPT)
    assert learner.usual()[0] == (0.0, STEP_SPREAD)


def test_of_a_cook_who_is_off_everywhere_anything_is_expected_of_a_step_not_seen_yet() -> None:
    usual = habit(*[{0: 0.25, 1: -0.2, 2: 0.15}] * 3).usual()
    assert usual[3].off == 0.0
    assert usual[3].spread > 1.5 * STEP_SPREAD
    assert usual[0].spread < usual[3].spread


def test_the_expected_is_nearer_to_a_cooks_eye_than_the_mean_of_what_was_seen() -> None:
    """A random-effects estimate errs less than the means (James and Stein, 1961)."""
    chance = np.random.default_rng(7)
    eyes = [float(eye) for eye in chance.normal(0.0, 0.04, 200)]
    seen = [
        {step: float(chance.normal(eye, 0.06)) for step, eye in enumerate(eyes)} for _ in range(3)
    ]  # fmt: skip
    learnt = habit(*seen, steps=len(eyes))
    raw = fmean((fmean(offs) - eye) ** 2 for offs, eye in zip(learnt.offs, eyes, strict=True))
    shrunk = fmean((u.off - eye) ** 2 for u, eye in zip(learnt.usual(), eyes, strict=True))
    assert shrunk < 0.8 * raw


# The plan.


def word(step: str, net_g: float | None, attribution: Attribution) -> Portion:
    return Portion(
        t=1.0, build=1, step=step, net_g=net_g, u_g=0.5, verdict=Verdict.UNSURE, confidence=0.9,
        attribution=attribution, skipped=net_g == 0.0,
    )  # fmt: skip


def test_only_sure_portions_teach() -> None:
    plan = Plan.of(dish())
    before = [(aim.usual_g, aim.spread) for aim in plan.aims]
    plan.learn(
        [
            word("grain", None, Attribution.UNSURE),
            word("beans", 100.0, Attribution.JOINT),
            word("sauce", 0.0, Attribution.SURE),
        ]
    )
    assert plan.habit == Habit.unknown(4)
    assert [(aim.usual_g, aim.spread) for aim in plan.aims] == before


def test_a_plan_that_learnt_expects_another_weight_and_passes_the_same() -> None:
    plan, standard = Plan.of(dish()), Plan.of(dish())
    both = plan.aim((1, 2))
    assert both.off == 0.0
    for _ in range(4):
        plan.learn([word("beans", 69.0, Attribution.SURE), word("sauce", 34.5, Attribution.SURE)])
    assert [aim.band for aim in plan.aims] == [aim.band for aim in standard.aims]
    beans = plan.aims[1]
    assert 67 < beans.usual_g < 69
    assert plan.aims[0].usual_g == standard.aims[0].usual_g
    assert plan.aim((1, 2)).band == both.band
    assert plan.aim((1, 2)).usual_g == pytest.approx(beans.usual_g + plan.aims[2].usual_g)
    assert added(beans, 0.0, 0, 69.0, 0.5) > added(standard.aims[1], 0.0, 0, 69.0, 0.5)


# The session.


def said(cook: Cook, build: int) -> dict[str, str]:
    """Every step's verdict in one build, those attributed for sure."""
    return {
        word.step: word.verdict.value
        for word in cook.told(Portion)
        if word.build == build and word.attribution is Attribution.SURE
    }


def off_by(share: float, builds: int) -> Cook:
    """A cook whose every portion is so far off its target."""
    cook = Cook()
    for _ in range(builds):
        cook.build(*(tuple(round(g * (1 + share)) for g in gestures) for gestures in CLEAN))
    return cook


def test_a_cook_who_is_always_over_is_told_so_every_time() -> None:
    cook = off_by(0.15, 8)
    for build in range(1, 9):
        assert said(cook, build) == {
            "grain": "over", "beans": "over", "sauce": "pass", "seeds": "pass",
        }  # fmt: skip
    assert {(live.low_g, live.high_g) for live in cook.lives if live.step == "beans"} == {(54, 66)}


def test_a_cook_who_was_seen_before_is_understood_where_a_stranger_is_not() -> None:
    cook = off_by(-0.22, 3)
    wanted = {"grain": "under", "beans": "under", "sauce": "under", "seeds": "pass"}
    assert said(cook, 1).items() < wanted.items()
    assert said(cook, 2) == said(cook, 3) == wanted
    assert tuple(wanted) == STEPS


def test_a_stranger_who_takes_a_quarter_too_little_of_everything_is_not_guessed_at() -> None:
    assert said(off_by(-0.25, 1), 1) == {}
