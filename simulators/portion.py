"""How a cook makes one portion: which gestures, of how much each."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from random import Random
from typing import Final

from simulators.habits import Habits
from simulators.recipe import RecipeStep

_LEAST_SHARE: Final = 0.3
"""However coarse the cook, a portion is at least this share of its target."""
_FAR_TOO_MUCH: Final = (1.2, 1.5)
_FAR_TOO_LITTLE: Final = (0.55, 0.85)
_TOP_UP: Final = (0.04, 0.12)


class Move(StrEnum):
    """One way to change what is in the bowl."""

    DROP = "drop"
    SPRINKLE = "sprinkle"
    TAKE_BACK = "take_back"


@dataclass(frozen=True, slots=True)
class Gesture:
    """One movement and how much it moves, g, always above 0."""

    move: Move
    amount_g: float

    @property
    def change_g(self) -> float:
        """What the bowl gains, g."""
        return -self.amount_g if self.move is Move.TAKE_BACK else self.amount_g


def plan_portion(step: RecipeStep, habits: Habits, bias: float, rng: Random) -> list[Gesture]:
    """The gestures for one step, in order; at least one, the first an addition.

    Args:
        step: What the standard asks for.
        habits: The cook's ways.
        bias: How far off this cook's eye is for this ingredient, share of the target.
        rng: Source of chance.
    """
    share = 1.0 + bias + rng.gauss(0.0, habits.spread)
    wanted_g = max(_LEAST_SHARE, share) * step.target_g
    luck = rng.random()
    if luck < habits.overshoots:
        added_g = wanted_g * rng.uniform(*_FAR_TOO_MUCH)
        gestures = _additions(step, habits, added_g, rng)
        if rng.random() < habits.takes_back:
            gestures.append(Gesture(Move.TAKE_BACK, added_g - wanted_g))
        return gestures
    if luck < habits.overshoots + habits.undershoots:
        wanted_g *= rng.uniform(*_FAR_TOO_LITTLE)
    return _additions(step, habits, wanted_g, rng)


def _additions(step: RecipeStep, habits: Habits, total_g: float, rng: Random) -> list[Gesture]:
    sprinkled = step.by_fingers and rng.random() < habits.sprinkles
    move = Move.SPRINKLE if sprinkled else Move.DROP
    top_up_g = 0.0
    if rng.random() < habits.tops_up:
        top_up_g = total_g * rng.uniform(*_TOP_UP)
    count = step.scoops
    if rng.random() < habits.extra_scoop:
        count = max(1, count + rng.choice((-1, 1)))
    sizes = [max(0.2, rng.gauss(1.0, habits.scoop_spread)) for _ in range(count)]
    scale_g = (total_g - top_up_g) / math.fsum(sizes)
    gestures = [Gesture(move, size * scale_g) for size in sizes]
    return [*gestures, Gesture(move, top_up_g)] if top_up_g else gestures
