"""Hands on the bowl, and other bowls."""

from __future__ import annotations

from typing import Final

from tests.staging.scene import (
    BOWL,
    BOWL_FOOD,
    BOWL_G,
    FINISHED,
    POT_FOOD,
    POT_G,
    RETURNED,
    Scene,
    portion,
)
from tests.staging.stage import Stage


def short_presses(stage: Stage) -> None:
    """Hands and spoons on the pot for 0.1 to 1 s, soft and hard, between the scoops."""
    stage.bowl(POT_G)
    stage.press(60.0, 0.15)
    stage.serve(POT_FOOD, "porridge")
    stage.press(300.0, 0.3)
    stage.press(25.0, 1.0)
    stage.serve(POT_FOOD, "apple")
    stage.press(120.0, 0.6)
    stage.add("yogurt", 48.2, then_s=1.2)
    stage.press(40.0, 0.1, then_s=1.0)
    stage.add("yogurt", 49.5)
    stage.press(550.0, 0.8)
    stage.finish()


def press_then_scoop(stage: Stage) -> None:
    """A hand rests on the pot just before each scoop falls: the level before it must hold."""
    stage.bowl(POT_G)
    stage.press(18.0, 0.5, then_s=0.0)
    stage.serve(POT_FOOD, "porridge")
    stage.press(12.0, 0.4, then_s=0.0)
    stage.serve(POT_FOOD, "apple")
    stage.press(9.0, 0.5, then_s=0.0)
    stage.serve(POT_FOOD, "yogurt")
    stage.finish()


def tool_left_in_the_pot(stage: Stage) -> None:
    """A tool lies dead still in the pot for five seconds: a level that is no food."""
    stage.bowl(POT_G)
    stage.serve(POT_FOOD, "porridge")
    stage.lean(86.0, 5.0)
    stage.serve(POT_FOOD, "apple")
    stage.lean(61.0, 4.0)
    stage.serve(POT_FOOD, "yogurt")
    stage.finish()


def released_into_the_scoop(stage: Stage) -> None:
    """A tool lies still in the pot and is taken out as the apple falls in."""
    stage.bowl(POT_G)
    stage.serve(POT_FOOD, "porridge")
    stage.lean(60.0, 3.0, then_s=0.0)
    stage.serve(POT_FOOD, "apple", "yogurt")
    stage.finish()


def lifted_often(stage: Stage) -> None:
    """The pot is handed over twice, once for long and set back with a hand on it."""
    stage.bowl(POT_G)
    stage.serve(POT_FOOD, "porridge")
    stage.lift()
    stage.put_back()
    stage.serve(POT_FOOD, "apple")
    stage.lift(off_s=8.0)
    stage.put_back(then_s=0.0)
    stage.press(70.0, 0.4)
    stage.serve(POT_FOOD, "yogurt")
    stage.finish()


def fed_while_off(stage: Stage) -> None:
    """The apple goes in while the pot is off the scale."""
    stage.bowl(POT_G)
    stage.serve(POT_FOOD, "porridge")
    stage.lift(off_s=4.0)
    stage.put_back("apple", 121.3)
    stage.serve(POT_FOOD, "yogurt")
    stage.finish()


def swapped_bowl(stage: Stage) -> None:
    """A bowl is given up after two steps; a new one stands there a second later."""
    stage.bowl(BOWL_G)
    stage.serve(BOWL_FOOD, "barley", "lentils")
    stage.lift(off_s=1.3)
    stage.bowl(17.6)
    stage.serve(BOWL_FOOD)
    stage.finish()


def wrong_bowl(stage: Stage) -> None:
    """The larger paper bowl, which the kitchen owns for another dish."""
    stage.bowl(26.4)
    stage.serve(BOWL_FOOD)
    stage.finish()


def held_bowl(stage: Stage) -> None:
    """The hand still carries a part of the bowl when the display stands still."""
    stage.bowl(BOWL_G, then_s=0.0)
    stage.lean(-5.2, 1.1, then_s=3.0)
    stage.serve(BOWL_FOOD)
    stage.finish()


def dine_in_bowl(stage: Stage) -> None:
    """The stoneware bowl, which this dish may be built in too."""
    stage.bowl(531.0)
    stage.serve(BOWL_FOOD)
    stage.finish()


def tipped_over(stage: Stage) -> None:
    """The paper bowl leaks: what is in it goes into the stoneware bowl."""
    stage.bowl(BOWL_G)
    stage.serve(BOWL_FOOD, "barley", "lentils", "roots")
    stage.lift(off_s=6.0)
    stage.tip_over(531.4)
    stage.serve(
        BOWL_FOOD, *(step for step in BOWL_FOOD if step not in {"barley", "lentils", "roots"})
    )
    stage.finish()


def cloth_on_the_pan(stage: Stage) -> None:
    """A cloth that weighs what the bowl does lies on the pan before the day begins."""
    stage.lay(18.3)
    stage.wait(3.0)
    stage.bowl(BOWL_G)
    stage.serve(BOWL_FOOD)
    stage.finish()


STONEWARE: Final = {"event": "build_started", "container": "stoneware bowl, dine-in"}
LITRE: Final = {"event": "odd_container", "container": "paper bowl, 1 L"}

HAND_SCENES: Final = {
    "short-presses": Scene(short_presses, tells=(portion("porridge"),), may_tell=("taken_back",)),
    "press-then-scoop": Scene(press_then_scoop, tells=(portion("porridge"),)),
    "tool-left-in-the-pot": Scene(
        tool_left_in_the_pot, tells=(FINISHED,), may_tell=("taken_back",)
    ),
    "released-into-the-scoop": Scene(
        released_into_the_scoop, tells=(portion("apple"),), may_tell=("taken_back",)
    ),
    "lifted-often": Scene(lifted_often, tells=(RETURNED, portion("yogurt"))),
    "fed-while-off": Scene(fed_while_off, tells=(RETURNED, portion("apple"))),
    "swapped-bowl": Scene(
        swapped_bowl,
        BOWL,
        tells=(
            portion("lentils", build=1),
            portion("roots", "under", build=1, skipped=True),
            {"event": "build_started", "build": 2},
            portion("pumpkin-seeds", build=2),
        ),
    ),
    "wrong-bowl": Scene(wrong_bowl, BOWL, tells=(LITRE, portion("barley"))),
    "held-bowl": Scene(held_bowl, BOWL, tells=(portion("barley"), portion("lentils"))),
    "dine-in-bowl": Scene(dine_in_bowl, BOWL, tells=(STONEWARE, portion("barley"))),
    "tipped-over": Scene(
        tipped_over, BOWL, tells=(RETURNED, portion("roots"), portion("pumpkin-seeds"))
    ),
    "cloth-on-the-pan": Scene(cloth_on_the_pan, BOWL, tells=(portion("barley"),)),
}
