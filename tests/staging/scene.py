"""What a scene is, and what is served in most of them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final, Protocol

from simulators.recipe import read_recipe
from simulators.scene import Plan, Run
from tests.staging.stage import Setting, Stage

Told = Mapping[str, Any]
"""Some fields of an event."""

POT: Final = "orchard-oat-pot"
POT_G: Final = 23.6
POT_FOOD: Final = {"porridge": (236.4,), "apple": (121.3,), "yogurt": (48.2, 49.5)}

BOWL: Final = "winter-barley-bowl"
BOWL_G: Final = 18.5
BOWL_FOOD: Final = {
    "barley": (39.4, 40.1, 38.3),
    "lentils": (51.2,),
    "roots": (77.1,),
    "tomato-sauce": (30.6,),
    "red-cabbage": (18.3,),
    "herb-yogurt": (39.7,),
    "pumpkin-seeds": (8.4,),
}

TRAY: Final = "millstone-flatbread"
TRAY_G: Final = 14.3

RETURNED: Final[Told] = {"event": "returned"}
FINISHED: Final[Told] = {"event": "finished"}


@dataclass(frozen=True)
class Played:
    """A simulated run, what really lay in each bowl by build and step, g, and who did it."""

    run: Run
    truth: Mapping[tuple[int, str], float]
    by: str


class Capture(Protocol):
    """What becomes a capture: see :class:`Scene`."""

    @property
    def case(self) -> str: ...
    @property
    def profile(self) -> str: ...
    @property
    def tells(self) -> tuple[Told, ...]: ...
    @property
    def may_tell(self) -> tuple[str, ...]: ...
    def play(self, recipe_text: str) -> Played: ...


@dataclass(frozen=True)
class Scene:
    """What happens on which scale, and what must be told of it whatever the engine's tuning.

    Attributes:
        act: Does it; its docstring, a line, says what.
        profile: What is built.
        seed: Of all that the script leaves open.
        setting: The scale.
        tells: Events that must be told, each by some of its fields.
        may_tell: Names of further events that may be told.
    """

    act: Callable[[Stage], None]
    profile: str = POT
    seed: int = 1
    setting: Setting = field(default_factory=Setting)
    tells: tuple[Told, ...] = ()
    may_tell: tuple[str, ...] = ()

    @property
    def case(self) -> str:
        """What happens, in a line."""
        return str(self.act.__doc__).rstrip(".") + self.setting.remarks

    def play(self, recipe_text: str) -> Played:
        """Let it happen; all steps of the recipe have a truth for every bowl."""
        stage = Stage(self.setting, self.seed)
        self.act(stage)
        setting = self.setting
        plan = Plan(
            recipe_text=recipe_text,
            seed=self.seed,
            division=setting.division,
            rate_hz=setting.rate_hz,
        )
        truth = {
            (build, step.id): stage.truth.get((build, step.id), 0.0)
            for build in range(1, stage.builds + 1)
            for step in read_recipe(recipe_text).steps
        }
        run = Run(plan, stage.make, tuple(stage.shown), builds=(), faults=(), zeros_g=())
        return Played(run, truth, "hands by script")


def portion(step: str, verdict: str = "pass", **more: object) -> Told:
    """A step's final word."""
    return {"event": "portion", "step": step, "verdict": verdict, **more}


def served_bowl(stage: Stage) -> None:
    """A plain bowl."""
    stage.bowl(BOWL_G)
    stage.serve(BOWL_FOOD)
    stage.finish()
