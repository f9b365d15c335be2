"""How true the final words are: weights, and the uncertainties they are given."""

from __future__ import annotations

import math
from collections.abc import Iterator
from random import Random

import pytest

from scaled.core.events import Attribution, Event
from scaled.core.report import DRAUGHT_G
from scaled.core.session import Session
from tests.core.played import PROFILES, SEEDS, Played, play, portions
from tests.core.scripted import BOWL_G, dish
from tests.core.scripted_scale import Scale

BUILDS = 100


@pytest.fixture(params=[(profile, seed) for profile in PROFILES for seed in SEEDS], ids=str)
def clean(request: pytest.FixtureRequest) -> Played:
    profile, seed = request.param
    return play(profile, seed)


def test_a_clean_build_is_attributed_rightly(clean: Played) -> None:
    """Wrong is never; unsure and joint are seldom."""
    real = {
        (build.number, portion.step): portion.net_g
        for build in clean.truth
        for portion in build.portions
    }
    words = portions(clean.said)
    assert {(word.build, word.step) for word in words} == set(real)
    sure = [word for word in words if word.attribution is Attribution.SURE]
    assert len(sure) >= 0.8 * len(words)
    for word in sure:
        assert word.net_g is not None
        assert word.u_g is not None
        assert abs(word.net_g - real[word.build, word.step]) <= max(4 * word.u_g, 0.5)


# JCGM 100:2008 (GUM), F.2.2.1: a rounded reading errs evenly, by half a division at most. The
# difference of two errs triangularly, by a division at most, with u = d/sqrt(6): beyond 2 u in
# (1 - 2/sqrt(6))^2 = 3.4 % of cases and never beyond sqrt(6) u.
@pytest.mark.parametrize("division_g", [0.1, 0.5, 1.0, 2.0, 5.0])
def test_as_many_errors_lie_beyond_two_uncertainties_as_rounding_makes(division_g: float) -> None:
    errors_u = [error for seed in range(BUILDS) for error in build_errors_u(division_g, seed)]
    assert len(errors_u) > 3 * BUILDS
    beyond = sum(abs(error) > 2 for error in errors_u) / len(errors_u)
    assert 0.004 <= beyond <= 0.07
    assert max(map(abs, errors_u)) <= 3.0


def build_errors_u(division_g: float, seed: int) -> Iterator[float]:
    """The errors of the portions of a build on a scale that only rounds, in their u.

    There is no draught here, so what counts for one is taken out of it.
    """
    chance = Random(seed)  # noqa: S311 -- weights, not a secret
    truth = {s.id: s.target_g + 0.5 * s.over_g * chance.uniform(-1, 1) for s in dish().steps}
    scale = Scale(division=division_g, offset_g=chance.uniform(-division_g, division_g))
    session = Session(dish(), division_g)
    told: list[Event] = []
    for load_g in (0.0, BOWL_G, *truth.values(), -BOWL_G - sum(truth.values())):
        for readings in (scale.move(load_g, 0.3), scale.hold(3.0)):
            told += [event for reading in readings for event in session.read(reading)]
    told += session.close(scale.t)
    for said in portions(told):
        if said.net_g is not None and said.u_g:
            rounding_u_g = math.sqrt(said.u_g**2 - DRAUGHT_G**2)
            yield (said.net_g - truth[said.step]) / rounding_u_g
