"""The display jumps to zero when a key is pressed; a load that goes shows on its way."""

from __future__ import annotations

import pytest

from scaled.core.jump import to_zero
from scaled.core.rest import Phase, Rest
from scaled.core.settle import Settler


def at(weights: list[float], rate_hz: float = 10.0) -> list[tuple[float, float]]:
    return [(i / rate_hz, weight_g) for i, weight_g in enumerate(weights)]


@pytest.mark.parametrize(
    ("shown", "from_g", "u_g"),
    [
        ([200.0, 200.0, 0.0], 200.0, 0.5),  # at rest
        ([180.0, 200.0, 1.0], 210.0, 10.0),  # rising: it went on until the key was pressed
        ([200.0, 190.0, 0.0], 185.0, 5.0),
        ([-198.0, -200.0, 0.0], -201.0, 1.1),  # the empty pan, after a build that was tared
    ],
)
def test_what_was_shown_last_is_set_to_zero(shown: list[float], from_g: float, u_g: float) -> None:
    jump = to_zero(at(shown), 1.0)
    assert jump is not None
    assert jump.from_g == pytest.approx(from_g)
    assert jump.u_g == pytest.approx(u_g, abs=0.03)


@pytest.mark.parametrize(
    "shown",
    [
        [200.0, 0.0],  # nothing is known of what was before
        [200.0, 140.0, 0.0],  # it was on its way down
        [-200.0, -140.0, 0.0],  # or up, as the build comes back
        [200.0, 200.0, 40.0],  # not to zero
        [147.0, 283.0, 132.0],  # pushed as it is taken off
        [200.0, 190.0, 10.0],  # on its way down, ever faster
        [-200.0, -190.0, -10.0],
        [7.0, 7.0, 0.0],  # a load this small is gone in a reading
        [2.0, 90.0, 0.0],  # a bump, or garbled
    ],
)
def test_a_load_that_goes_and_a_bump_are_no_jump(shown: list[float]) -> None:
    assert to_zero(at(shown), 1.0) is None


def test_where_a_reading_is_missing_nothing_is_known_of_a_jump() -> None:
    assert to_zero([(0.0, 200.0), (0.1, 200.0), (0.3, 0.0)], 1.0) is None
    assert to_zero([(0.0, 200.0), (0.05, 200.0), (0.15, 0.0)], 1.0) is not None  # no matter


def rests(weights: list[float]) -> list[Rest]:
    settler, found = Settler(1.0), []
    for t, weight_g in at(weights):
        change = settler.read(t, weight_g)
        if change is not None and change[0] is Phase.BEGAN:
            found.append(change[1])
    return found


def test_a_rest_knows_of_a_jump_amid_the_movement_before_it() -> None:
    rising = [100.0] * 20 + [110.0, 130.0, 150.0]
    first, last = rests([*rising, 0.0, 8.0, 12.0, 14.0, *[15.0] * 15])
    assert first.jump is None
    assert last.jump is not None
    assert last.jump.from_g == pytest.approx(160.0)


def stops(shown: list[float], division_g: float = 0.5, rate_hz: float = 10.0) -> list[Rest]:
    settler, found = Settler(division_g), []
    for t, weight_g in at(shown, rate_hz):
        change = settler.read(t, weight_g)
        if change is not None and change[0] in {Phase.BEGAN, Phase.PASSED}:
            found.append(change[1])
    return found


def test_a_jump_is_no_way_that_a_load_went() -> None:
    """The weight stood at 27 g for a moment, and went on to nowhere."""
    brief = [27.0, 27.0, 27.0]
    shown = [0.0] * 20 + [3.5, 17.0, 26.5, 32.0, 37.0, 37.0, 29.0, *brief, *[0.0] * 10]
    _, keyed = stops(shown)
    assert keyed.jump is not None
    assert keyed.jump.from_g == pytest.approx(27.0)


def test_a_hand_that_leans_on_the_bowl_as_the_display_is_at_zero_undoes_no_jump() -> None:
    press = [9.5, 53.5, 149.5, 279.5, 389.0, 420.0, 429.0, 430.0]
    shown = [115.0] * 30 + [0.0, 0.0, 0.0, *press, *reversed(press), *[0.0] * 30]
    first, last = (rest for rest in stops(shown, rate_hz=20.0) if rest.settled)
    assert first.jump is None
    assert last.jump is not None
    assert last.jump.from_g == pytest.approx(115.0)


def test_a_fall_to_zero_that_is_a_jump_goes_no_further() -> None:
    press = [9.5, 53.5, 149.5, 279.5, 389.0, 420.0, 429.0, 430.0]
    shown = [115.0] * 30 + [0.0, 0.0, 0.0, *press, *[430.0] * 30]
    assert min(rest.level_g for rest in stops(shown, rate_hz=20.0)) >= 0.0


def test_what_only_looked_like_a_jump_hides_no_way() -> None:
    """A build that is carried off goes on past zero; none of its levels lies below the pan."""
    off = [0.0, -90.0, *[-115.0] * 4, -100.0, -60.0, -20.0, 40.0, 80.0]
    shown = [115.0] * 20 + off + [100.0] * 12
    assert [rest.level_g for rest in stops(shown, rate_hz=20.0) if rest.level_g < -120.0] == []


def test_the_smaller_a_jump_the_likelier_it_is_a_load_that_passes_zero() -> None:
    small, large = (to_zero(at([g, g, 0.0]), 0.5) for g in (9.5, 240.0))
    assert small is not None
    assert large is not None
    assert 0.001 < small.chance < 0.01
    assert large.chance == pytest.approx(small.chance * 9.5 / 240.0)


def test_where_the_display_swings_a_jump_says_little() -> None:
    """A pan that a heavy bowl has just left, 20 readings a second."""
    swinging = [456.0, 417.0, 239.0, 60.0, -40.0, -59.0, -68.6, -1.0]
    jump = to_zero(at(swinging, 20.0), 0.5)
    assert jump is not None
    assert jump.chance > 0.1
    still = to_zero(at([-68.0] * 9 + [-59.0, -68.6, -1.0], 20.0), 0.5)
    assert still is not None
    assert still.chance < jump.chance / 5


@pytest.mark.parametrize("side", [1.0, -1.0])
def test_a_load_that_comes_or_goes_through_zero_is_no_jump(side: float) -> None:
    """A build that was tared may be shown a little below zero, or above."""
    shown = [-10.0] * 20 + [1.0, 19.0, 29.0, 35.0, 38.0, 40.0] + [40.0] * 12
    _, last = rests([side * weight_g for weight_g in shown])
    assert last.jump is None


def test_a_gap_after_a_jump_leaves_it_known() -> None:
    settler, found = Settler(0.5), []
    shown = [*at([100.0] * 20 + [0.0, 0.0]), *((5.0 + i / 10, 0.0) for i in range(12))]
    for t, weight_g in shown:
        change = settler.read(t, weight_g)
        if change is not None and change[0] is Phase.BEGAN:
            found.append(change[1])
    assert found[-1].jump is not None
    assert found[-1].unseen_s > 2.0


def test_one_reading_at_zero_is_garbled() -> None:
    _, last = rests([100.0] * 20 + [120.0, 130.0, 0.0, 140.0, 143.0] + [145.0] * 15)
    assert last.jump is None


def test_what_goes_on_rising_when_the_key_is_pressed_is_shown_a_little_above_zero() -> None:
    jump = to_zero(at([225.0, 231.0, 4.0]), 1.0)
    assert jump is not None
    assert jump.from_g == pytest.approx(234.0)
    assert to_zero(at([225.0, 231.0, 9.0]), 1.0) is None
