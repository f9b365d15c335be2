"""Who tares after every ingredient is expected to go on doing so; who never did may still."""

from __future__ import annotations

import pytest

from scaled.core.belief import Belief, empty
from scaled.core.food import Move
from scaled.core.key_habit import MOST, KeyHabit, Presses
from scaled.core.meant import Moved
from scaled.core.rest import Rest
from scaled.core.set_down import started
from tests.core.scripted import BOWL_G

PAN = empty(0.0, 0.1)
BARE = started(PAN, Rest(0.0, 1.0, BOWL_G, 0.3), 4, None)
FED = BARE.at(BOWL_G + 40.0, 0.3)._replace(gestures=1)
OFF = FED.lifted(0.0)


def moved(move: Move, keyed: float = 0.0) -> Moved:
    return Moved({move: 1.0}, keyed, -40.0 * keyed)


def test_a_cook_nobody_knows_does_the_usual() -> None:
    assert Presses().often(0.002) == 0.002


def test_one_who_never_pressed_it_may_still() -> None:
    habit = KeyHabit()
    for _ in range(100):
        habit.learn(moved(Move.ADDED), FED)
    assert habit.fed.often(0.002) == 0.002


def test_one_who_tares_after_every_ingredient_is_known_for_it_but_not_certainly() -> None:
    habit = KeyHabit()
    for _ in range(4):
        habit.learn(moved(Move.BEGUN), FED)
        habit.learn(moved(Move.REZEROED, keyed=1.0), FED)
    assert habit.fed.often(0.002) > 0.1
    assert habit.fed.often(0.02) == MOST
    assert habit.bare.often(0.002) == 0.002


@pytest.mark.parametrize(
    ("move", "was", "bare", "fed"),
    [
        (Move.REZEROED, BARE, 1.0, 0.0),
        (Move.REZEROED, FED, 0.0, 1.0),
        (Move.REZEROED, OFF, 0.0, 0.0),  # the zero key over the empty pan is everybody's
        (Move.REZEROED, None, 0.0, 0.0),
        (Move.LIFTED, FED, 0.0, 0.0),
        (Move.PLACED, OFF, 1.0, 0.0),  # a bowl, tared as it was set down
        (Move.BEGUN, BARE, 0.0, 1.0),  # food, tared as it came
    ],
)
def test_a_press_counts_where_it_was_made(
    move: Move, was: Belief | None, bare: float, fed: float
) -> None:
    habit = KeyHabit()
    habit.learn(moved(move, keyed=1.0), was)
    assert (habit.bare.pressed, habit.fed.pressed) == (bare, fed)


@pytest.mark.parametrize(("belief", "fed"), [(FED, True), (BARE, False), (OFF, False)])
def test_what_stands_on_the_pan_tells_which_habit(belief: Belief, fed: bool) -> None:
    habit = KeyHabit()
    assert habit.on(belief) is (habit.fed if fed else habit.bare)
