"""What led to a rest, all in all: how probable each move was, and that a key moved the zero."""

from __future__ import annotations

import pytest

from scaled.core.belief import Belief, empty
from scaled.core.food import Move
from scaled.core.meant import NO_DRIFT_G, Look, Meant, Moved
from scaled.core.rest import Rest
from scaled.core.set_down import started
from tests.core.scripted import BOWL_G

BOWL = started(empty(0.0, 0.1), Rest(0.0, 1.0, BOWL_G, 0.3), 4, None)


def look(chance: float, was: Belief, *means: tuple[float, Belief, Move]) -> Look:
    return chance, was, Meant(0.0, max(density for density, _, _ in means), list(means))


def test_moves_are_weighed_by_belief_and_density() -> None:
    tared, other = BOWL.shown_at(0.0, 0.3), BOWL.at(BOWL_G + 40.0, 0.3)
    moved = Moved.of([
        look(0.6, BOWL, (3.0, tared, Move.REZEROED), (1.0, BOWL, Move.SAME)),
        look(0.4, other, (1.0, other, Move.SAME), (1.0, other.shown_at(0.0, 0.3), Move.REZEROED)),
    ])  # fmt: skip
    assert moved.chances == pytest.approx({Move.REZEROED: 2.2 / 3.2, Move.SAME: 1.0 / 3.2})
    assert moved.keyed == pytest.approx(2.2 / 3.2)
    assert moved.shift_g == -BOWL_G  # the likelier of the two


def test_a_zero_that_drifts_is_no_key() -> None:
    drifted = BOWL.rezeroed(NO_DRIFT_G)
    assert Moved.of([look(1.0, BOWL, (1.0, drifted, Move.ADDED))]).keyed == 0.0


@pytest.mark.parametrize(("jumped", "keyed"), [(False, 0.0), (True, 1.0)])
def test_the_zero_of_a_pan_just_left_was_moved_by_a_key_only_if_the_display_jumped(
    jumped: bool, keyed: float
) -> None:
    left = [look(1.0, BOWL, (1.0, BOWL.lifted(-60.0), Move.LIFTED))]
    assert Moved.of(left, jumped=jumped).keyed == keyed


def test_the_first_rest_means_nothing() -> None:
    assert Moved.of([]) == Moved({}, 0.0, 0.0)
