"""Captures of a simulated cook's work, with one bad habit or none."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final

from simulators.habits import CLEAN
from simulators.scene import Plan, simulate
from tests.staging.scene import Played, Told

PLAIN: Final = replace(
    CLEAN, presses=0.0, hands_over=0.0, lifts=0.0, overshoots=0.0, extra_scoop=0.0, tops_up=0.0
)
"""A cook without habits, to have one at a time."""


@dataclass(frozen=True)
class Shift:
    """A simulated cook's builds, and what must be told of them whatever the engine's tuning.

    Attributes:
        case: What happens, in a line.
        profile: What is built.
        seed: Of all chance.
        habits: Changes to a cook without any; None: a trained cook.
        division: The scale's.
        builds: How many bowls.
        tells: Events that must be told, each by some of its fields.
        may_tell: Names of further events that may be told.
    """

    case: str
    profile: str
    seed: int
    habits: Mapping[str, float] | None = None
    division: str = "1 g"
    builds: int = 1
    tells: tuple[Told, ...] = ()
    may_tell: tuple[str, ...] = ()

    def play(self, recipe_text: str) -> Played:
        """Let the cook work."""
        habits = CLEAN if self.habits is None else replace(PLAIN, **self.habits)
        changed = ", ".join(f"{habit} {chance}" for habit, chance in (self.habits or {}).items())
        run = simulate(
            Plan(
                recipe_text=recipe_text,
                seed=self.seed,
                division=self.division,
                habits=habits,
                builds=self.builds,
            )
        )
        truth = {
            (build.number, portion.step): portion.net_g
            for build in run.builds
            for portion in build.portions
        }
        return Played(run, truth, f"cook's habits: {changed or 'clean'}")


SHIFTS: Final = {
    "winter-barley-bowl": Shift(
        "a trained cook's bowl, handed over where the line changes",
        "winter-barley-bowl",
        seed=101,
        tells=({"event": "lifted"}, {"event": "returned"}),
    ),
    "orchard-oat-pot": Shift("a trained cook's pot", "orchard-oat-pot", seed=101),
    "millstone-flatbread": Shift(
        "a trained cook's flatbread", "millstone-flatbread", seed=101, division="0.5 g"
    ),
    "press": Shift(
        "the cook leans on the bowl now and then",
        "winter-barley-bowl",
        seed=2,
        habits={"presses": 0.3},
    ),
    "take-back": Shift(
        "too much, and some of it taken back",
        "orchard-oat-pot",
        seed=4,
        habits={"overshoots": 0.4},
        tells=({"event": "taken_back"},),
    ),
    "lift-and-return": Shift(
        "the bowl lifted and set back",
        "winter-barley-bowl",
        seed=1,
        habits={"lifts": 0.3},
        tells=({"event": "lifted"}, {"event": "returned"}),
    ),
    "next-bowl": Shift(
        "a bowl given up for a new one",
        "orchard-oat-pot",
        seed=3,
        habits={"swaps": 0.3},
        builds=2,
        tells=({"event": "build_started", "build": 2},),
    ),
    "tare-at-start": Shift(
        "the tare key before the first ingredient",
        "orchard-oat-pot",
        seed=15,
        habits={"tares": 0.3},
        may_tell=("rezeroed",),
    ),
    "units-mixed": Shift(
        "the unit key between ingredients, readings labelled",
        "millstone-flatbread",
        seed=2,
        habits={"switches_unit": 0.4},
        division="0.5 g",
        tells=({"event": "unit_changed", "unit": "oz"}, {"event": "unit_changed", "unit": "g"}),
    ),
}
