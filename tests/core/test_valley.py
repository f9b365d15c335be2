"""A level that was told and then fell below: what comes next came onto the valley."""

from __future__ import annotations

import pytest

from scaled.core.noise import Grain
from scaled.core.rest import Phase, Rest
from scaled.core.settle import Settler
from scaled.core.valley import Valley
from tests.core.scripted_scale import Scale


def told(*parts: tuple[float, float], rate_hz: float = 20) -> list[tuple[Phase, Rest]]:
    """The rests, shoulders and valleys of a load that changes so, g and s, between long rests."""
    scale, settler = Scale(division=1.0, rate_hz=rate_hz, lag_s=0.08), Settler(1.0)
    said = []
    for by_g, in_s in [(0.0, 2.0), *parts, (0.0, 2.0)]:
        said += [settler.read(r.t, r.weight) for r in scale.move(by_g, in_s)]
    return [one for one in said if one and one[0] in {Phase.BEGAN, Phase.PASSED}]


@pytest.mark.parametrize("rate_hz", [10, 20])
def test_food_added_as_soon_as_a_press_is_let_go_came_onto_the_valley(rate_hz: float) -> None:
    pressed, let_go, added = (30.0, 0.3), (-30.0, 0.2), (80.0, 0.3)
    rests = told((200.0, 0.3), (0.0, 0.4), pressed, (0.0, 1.5), let_go, (0.0, 0.3), added,
                 rate_hz=rate_hz)  # fmt: skip
    *_, held, valley, after = rests
    assert held[1].level_g == pytest.approx(230.0, abs=1.0)
    assert valley[0] is Phase.PASSED
    assert not valley[1].settled
    assert abs(valley[1].level_g - 200.0) < 2 * valley[1].u_g
    assert after[1].level_g == pytest.approx(280.0, abs=1.0)


def test_a_press_let_go_for_good_is_a_rest_and_no_valley() -> None:
    rests = told((30.0, 0.3), (0.0, 1.5), (-30.0, 0.3))
    assert [phase for phase, _ in rests] == [Phase.BEGAN, Phase.BEGAN, Phase.BEGAN]


def test_a_valley_no_deeper_than_noise_is_none() -> None:
    valley = Valley(Grain(1.0, 0.1), 100.0)
    weights = (99.0, 98.5, 99.0, 130.0)
    seen = [(0.05 * i, weight) for i, weight in enumerate(weights)]
    assert all(valley.read(seen[: i + 1]) is None for i in range(len(seen)))


def test_what_still_fell_before_the_bottom_counts_in_its_uncertainty() -> None:
    valley = Valley(Grain(1.0, 0.1), 100.0)
    weights = (100.0, 96.0, 92.0, 90.0, 88.0, 150.0)
    seen = [(0.05 * i, weight) for i, weight in enumerate(weights)]
    *_, stop = [valley.read(seen[: i + 1]) for i in range(len(seen))]
    assert stop is not None
    assert (stop.begin_s, stop.end_s) == pytest.approx((0.2, 0.25))
    # 12 g fell in the last 0.2 s; half of that again, give or take as much.
    assert (stop.level_g, stop.u_g) == pytest.approx((82.0, 6.08), abs=0.01)
    assert valley.read([*seen, (0.3, 160.0)]) is None  # it is told once


def test_the_first_reading_after_a_level_may_be_the_bottom() -> None:
    valley = Valley(Grain(1.0, 0.1), 100.0)
    assert valley.read([(0.0, 90.0)]) is None
    stop = valley.read([(0.0, 90.0), (0.1, 130.0)])
    assert stop is not None
    assert (stop.begin_s, stop.end_s, stop.level_g) == (0.0, 0.1, 90.0)


def test_one_garbled_reading_is_no_valley() -> None:
    valley = Valley(Grain(0.2, 0.1), 18.4)
    weights = (21.8, 42.2, 53.0, 55.0, 15.2, 55.2, 55.4)
    seen = [(0.1 * i, weight) for i, weight in enumerate(weights)]
    assert all(valley.read(seen[: i + 1]) is None for i in range(len(seen)))


def test_one_garbled_reading_amid_a_movement_is_no_valley() -> None:
    valley = Valley(Grain(0.1, 0.1), -397.0)
    weights = (-393.6, -385.4, -377.1, -774.0, -374.0, -374.0, -372.0)
    seen = [(0.2 * i, weight) for i, weight in enumerate(weights)]
    assert all(valley.read(seen[: i + 1]) is None for i in range(len(seen)))
