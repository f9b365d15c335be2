"""The engine's promise on simulated clean builds: right at least 95 in 100, wrong at most 1."""

from __future__ import annotations

from collections import Counter

from scaled.catalogue import load_profile
from simulators.habits import CLEAN
from tests.benchmarks.corpus import cases, listen, play
from tests.benchmarks.score import score_steps, shares

WRONG = ("wrong weight", "false pass", "false fail", "missed")


def test_clean_builds_are_told_right_or_unsure() -> None:
    outcomes: Counter[str] = Counter()
    for case in cases(72, ("0.5 g", "1 g", "2 g"), CLEAN, seed=7000):
        run, readings = play(case)
        events = listen(case, run, readings)
        outcomes += shares(score_steps(run, events, load_profile(case.profile)))
    steps = outcomes.total()
    assert steps > 300
    assert outcomes["right"] + outcomes["borderline"] >= 0.95 * steps
    assert sum(outcomes[kind] for kind in WRONG) <= 0.01 * steps
