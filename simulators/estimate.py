"""How much a cook really moves when told how much: by tool, or by fingers and spoon.

The spreads are starting points, without published source.
"""

from __future__ import annotations

import math
from typing import Final

from simulators.cook import Cook
from simulators.recipe import RecipeStep

WHOLE: Final = 0.75
"""From this share of a gesture on the cook takes the tool; below, fingers or a spoon."""
TRIM_SPREAD: Final = 0.25
"""Standard deviation of a correction, as a share of it,"""
CRUMB_G: Final = 0.3
"""... and at least this; nothing less can be moved."""
_LEAST_SHARE: Final = 0.2
"""However coarse the cook, a gesture is at least this share of what was wanted."""
_FAR_TOO_MUCH: Final = (1.2, 1.5)


def is_whole(wanted_g: float, step: RecipeStep) -> bool:
    """Whether an amount is worth taking the tool for."""
    return wanted_g * step.scoops >= WHOLE * step.target_g


def scooped_g(wanted_g: float, step: RecipeStep, cook: Cook) -> float:
    """What a whole gesture brings, g; now and then it is far too much."""
    habits = cook.habits
    spread = habits.spread if step.scoops == 1 else habits.scoop_spread
    share = max(_LEAST_SHARE, 1.0 + cook.bias[step.id] + cook.rng.gauss(0.0, spread))
    if cook.chance(habits.overshoots / step.scoops):
        share *= cook.rng.uniform(*_FAR_TOO_MUCH)
    return wanted_g * share


def trimmed_g(wanted_g: float, step: RecipeStep, cook: Cook) -> float:
    """What a correction brings or takes, g."""
    eye_g = wanted_g * (1.0 + cook.bias[step.id])
    return max(CRUMB_G, cook.rng.gauss(eye_g, math.hypot(TRIM_SPREAD * wanted_g, CRUMB_G)))
