"""The scale's keys, pressed by habit and at bad moments."""

from __future__ import annotations

from typing import Final

from tests.staging.scene import FINISHED, POT_FOOD, POT_G, RETURNED, Scene, portion
from tests.staging.stage import Setting, Stage


def tare_before_the_first(stage: Stage) -> None:
    """The empty pot is tared away before anything is in it."""
    stage.bowl(POT_G, then_s=2.0)
    stage.tare_key()
    stage.serve(POT_FOOD)
    stage.finish()


def tare_midway(stage: Stage) -> None:
    """The tare key, by habit, before the second ingredient."""
    stage.bowl(POT_G)
    stage.serve(POT_FOOD, "porridge")
    stage.tare_key()
    stage.serve(POT_FOOD, "apple", "yogurt")
    stage.finish()


def tare_twice(stage: Stage) -> None:
    """The tare key before the second and before the third ingredient."""
    stage.bowl(POT_G)
    stage.serve(POT_FOOD, "porridge")
    stage.tare_key()
    stage.serve(POT_FOOD, "apple")
    stage.tare_key()
    stage.serve(POT_FOOD, "yogurt")
    stage.finish()


def tare_after_each(stage: Stage) -> None:
    """The tare key after the pot and after each ingredient, before all of it has come to rest."""
    for _ in range(2):
        stage.bowl(POT_G, then_s=1.0)
        stage.tare_key()
        for step, scoops_g in POT_FOOD.items():
            stage.add(step, *scoops_g, then_s=0.6)
            stage.tare_key()
        stage.finish()
        stage.tare_key()
    stage.wait(2.0)


def tare_while_off(stage: Stage) -> None:
    """The tare key while the pot is off the scale, where there is nothing to tare."""
    stage.bowl(POT_G)
    stage.serve(POT_FOOD, "porridge")
    stage.lift(off_s=1.0)
    stage.tare_key()
    stage.put_back()
    stage.serve(POT_FOOD, "apple", "yogurt")
    stage.finish()


def tare_at_onset(stage: Stage) -> None:
    """The tare key as the food has just come to rest."""
    stage.bowl(POT_G)
    stage.add("porridge", 236.4, then_s=0.9)
    stage.tare_key(then_s=3.0)
    stage.serve(POT_FOOD, "apple", "yogurt")
    stage.finish()


def tare_while_moving(stage: Stage) -> None:
    """The tare key while the display is still on its way: how much was there is not known."""
    stage.bowl(POT_G)
    stage.add("porridge", 236.4, then_s=0.3)
    stage.tare_key(then_s=3.0)
    stage.serve(POT_FOOD, "apple", "yogurt")
    stage.finish()


def tare_then_lift(stage: Stage) -> None:
    """The tare key, then the pot lifted and set back: two ways to lose the same weight."""
    stage.bowl(POT_G)
    stage.serve(POT_FOOD, "porridge")
    stage.tare_key()
    stage.lift()
    stage.put_back()
    stage.serve(POT_FOOD, "apple", "yogurt")
    stage.finish()


def unit_key(stage: Stage) -> None:
    """The unit key before the second ingredient, and back before the third."""
    stage.bowl(POT_G)
    stage.serve(POT_FOOD, "porridge")
    stage.unit_key()
    stage.serve(POT_FOOD, "apple")
    stage.unit_key()
    stage.serve(POT_FOOD, "yogurt")
    stage.finish()


def unit_key_at_onset(stage: Stage) -> None:
    """The unit key as the food comes to rest."""
    stage.bowl(POT_G)
    stage.add("porridge", 236.4, then_s=0.3)
    stage.unit_key(then_s=3.0)
    stage.serve(POT_FOOD, "apple", "yogurt")
    stage.finish()


def unit_key_unseen(stage: Stage) -> None:
    """The unit key in the first pot, and again over the empty pan, where nothing shows it."""
    stage.bowl(POT_G)
    stage.serve(POT_FOOD, "porridge", "apple")
    stage.unit_key()
    stage.serve(POT_FOOD, "yogurt")
    for _ in range(2):
        stage.finish()
        stage.unit_key()
        stage.bowl(POT_G)
        stage.serve(POT_FOOD)
    stage.finish()


OUNCES: Final = {"event": "unit_changed", "unit": "oz"}
GRAMS: Final = {"event": "unit_changed", "unit": "g"}

KEY_SCENES: Final = {
    "tare-before-the-first": Scene(
        tare_before_the_first, tells=(portion("porridge"),), may_tell=("rezeroed",)
    ),
    "tare-midway": Scene(tare_midway, tells=(portion("apple"),), may_tell=("rezeroed",)),
    "tare-twice": Scene(tare_twice, tells=({"event": "rezeroed"}, portion("yogurt"))),
    "tare-after-each": Scene(
        tare_after_each,
        tells=(
            {"event": "rezeroed", "build": 2},
            *(portion(step, build=build) for build in (1, 2) for step in POT_FOOD),
        ),
    ),
    "tare-while-off": Scene(
        tare_while_off, tells=(RETURNED, portion("yogurt")), may_tell=("rezeroed",)
    ),
    "tare-at-onset": Scene(tare_at_onset, tells=(FINISHED,), may_tell=("rezeroed",)),
    "tare-while-moving": Scene(
        tare_while_moving, seed=3, tells=(FINISHED,), may_tell=("rezeroed", "out_of_order")
    ),
    "tare-then-lift": Scene(
        tare_then_lift, tells=(portion("apple"),), may_tell=("rezeroed", "returned")
    ),
    "unit-key-at-onset": Scene(unit_key_at_onset, tells=(OUNCES, portion("porridge"))),
    "unit-key-unlabelled": Scene(
        unit_key, setting=Setting(labelled=False), tells=(OUNCES, GRAMS, portion("apple"))
    ),
    "unit-key-unseen": Scene(
        unit_key_unseen,
        setting=Setting(labelled=False),
        tells=(
            *({**OUNCES, "build": 1}, {**GRAMS, "build": 1}, {**OUNCES, "build": 2}),
            *(portion(step, build=build) for build in (2, 3) for step in POT_FOOD),
        ),
    ),
}
