"""When one build is over and the next one begins."""

from __future__ import annotations

import pytest

from scaled.core.belief import Mode
from scaled.core.builds import Builds
from scaled.core.departure import Sender
from scaled.core.plan import Plan
from scaled.core.rest import Rest
from tests.core.test_container import STONE, kitchen


def follow(builds: Builds, *rests: Rest) -> None:
    for rest in rests:
        before = builds.tracker.beliefs
        builds.tracker.advance(rest)
        builds.guide.take(rest, builds.tracker)
        builds.placed(rest, before, rest.at_s)
        builds.follow(rest, rest.at_s)


def rests(*levels_g: float) -> list[Rest]:
    return [Rest(3.0 * i, 3.0 * i + 0.4, level_g, 0.3) for i, level_g in enumerate(levels_g)]


@pytest.mark.parametrize("settled", [True, False])
def test_only_a_pan_at_rest_shows_the_next_container(settled: bool) -> None:
    builds = Builds(Plan.of(kitchen(STONE)), Sender("", "test-bowl", "1"))
    follow(builds, *rests(0.0, 20.0, 60.0, 100.0, 140.0, 200.0, 0.0))
    assert builds.number == 1
    # As heavy as the stoneware: the build set back, and a hand still on it.
    follow(builds, Rest(22.0, 22.4, 309.0, 1.5, settled=settled, doubt=0.2))
    assert builds.number == (2 if settled else 1)
    if not settled:
        follow(builds, Rest(23.0, 23.4, 200.0, 0.3))
        best = builds.guide.best
        assert best is not None
        assert (builds.number, best.mode, best.group) == (1, Mode.ON, (1,))
