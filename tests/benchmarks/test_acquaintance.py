"""The evidence on known cooks: one eye in all runs of a cook, each step counted for everybody."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

import pytest

from scaled.catalogue import find_profile, load_profile
from simulators.habits import CLEAN, UNTRAINED
from tests.benchmarks.acquaintance import BUILDS, KNOWING, SESSIONS, Regular, Shift, measure
from tests.benchmarks.corpus import PROFILES


def eye(seed: int, eye_seed: int, kept: float = 1.0) -> dict[str, float]:
    text = find_profile(PROFILES[0]).text
    shift = Shift(
        recipe_text=text, seed=seed, habits=UNTRAINED, builds=1, eye_seed=eye_seed, eye=kept
    )
    return shift.cook()._cook.bias


def test_a_cook_keeps_his_eye_from_run_to_run_and_may_learn() -> None:
    assert eye(1, 7) == eye(2, 7)
    assert eye(1, 7) != eye(1, 8)
    assert eye(1, 7, 0.5) == {step: pytest.approx(off / 2) for step, off in eye(1, 7).items()}


def test_every_step_counts_once_whatever_was_known_of_its_cook() -> None:
    exact = replace(CLEAN, swaps=0.0)
    counts = measure((2, exact, 1.0, 50000))
    steps = len(load_profile(Regular.at_work(2, exact, 1.0, 50000).profile).steps)
    later = 2 * (SESSIONS - 1)
    assert {key: outcomes.total() for key, outcomes in counts.items()} == {
        (knowing, build): later * steps for knowing in KNOWING for build in range(1, BUILDS + 1)
    }
    right = sum(counts.values(), Counter())
    assert right["right"] > 0.8 * right.total()
