from __future__ import annotations

from itertools import pairwise

import pytest

from scaled.core.events import Attribution, Portion, Verdict
from simulators.habits import CLEAN
from tests.benchmarks.corpus import Case, play
from tests.benchmarks.drops import DROPS, Gap, Pair, arrived, gaps
from tests.benchmarks.made_run import made_readings
from tests.benchmarks.score import StepScore

CASE = Case("orchard-oat-pot", "1 g", 10, 1, CLEAN)


def said(verdict: Verdict) -> Portion:
    return Portion(
        t=9.0, build=1, step="apple", net_g=120.0, u_g=0.4, verdict=verdict,
        confidence=0.99, attribution=Attribution.SURE,
    )  # fmt: skip


def score(outcome: str, verdict: Verdict | None = Verdict.PASS) -> StepScore:
    return StepScore(outcome, 1, "apple", 120.0, said(verdict) if verdict else None)


@pytest.mark.parametrize(
    ("whole", "cut", "outcome"),
    [
        (score("right"), score("right"), "same"),
        (score("borderline"), score("right"), "same"),
        (score("right"), score("borderline", Verdict.OVER), "edge"),
        (score("right"), score("unsure", None), "unsure"),
        (score("right"), score("joint", None), "unsure"),
        (score("right"), score("missed", None), "missed"),
        (score("missed", None), score("right"), "edge"),
        (score("right"), score("wrong weight"), "wrong"),
        (score("false fail"), score("false fail"), "wrong"),
    ],
)
def test_a_step_is_the_same_or_what_became_of_it(
    whole: StepScore, cut: StepScore, outcome: str
) -> None:
    assert Pair(CASE, whole, cut).outcome == outcome


def test_gaps_begin_while_food_moves_and_end_before_the_run() -> None:
    run, _ = play(CASE)
    found = gaps(run.builds, CASE, (1.0, 3.0))
    assert len(run.builds) < len(found) <= DROPS * len(run.builds)
    assert found == sorted(found)
    for gap in found:
        assert 1.0 <= gap.until_s - gap.since_s <= 3.0
        rests = [rest for build in run.builds for rest in build.rests]
        assert not any(rest.start_s < gap.since_s < rest.end_s for rest in rests)
    assert found[-1].until_s < run.builds[-1].lifted_s
    assert all(one.until_s < other.since_s for one, other in pairwise(found))


def test_what_a_gap_swallows_does_not_arrive() -> None:
    readings = made_readings([(0.0, 1.0), (2.0, 2.0), (4.0, 0.0)])
    through = arrived(readings, [Gap(0.5, 1.0), Gap(3.0, 3.5)])
    assert [r.t for r in readings if r not in through] == pytest.approx(
        [0.5, 0.6, 0.7, 0.8, 0.9, 3.0, 3.1, 3.2, 3.3, 3.4]
    )
