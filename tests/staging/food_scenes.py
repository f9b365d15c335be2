"""How food comes into the bowl, and out of it again."""

from __future__ import annotations

from typing import Final

from tests.staging.scene import (
    BOWL,
    BOWL_FOOD,
    BOWL_G,
    POT_FOOD,
    POT_G,
    TRAY,
    TRAY_G,
    Scene,
    portion,
    served_bowl,
)
from tests.staging.stage import Setting, Stage

PLATE: Final = "twin-dip-plate"
PLATE_G: Final = 30.4
PLATE_FOOD: Final = {"dill-dip": (60.8,), "beet-dip": (59.1,), "crisps": (41.2,)}


def many_scoops(stage: Stage) -> None:
    """Five small scoops where three are written, two where one is, a pinch thrice."""
    stage.bowl(BOWL_G)
    stage.add("barley", 25.1, 24.2, 22.9, 24.4, 21.3, every_s=1.3)
    stage.add("lentils", 25.8, 24.6)
    stage.serve(BOWL_FOOD, "roots", "tomato-sauce")
    stage.add("red-cabbage", 6.3, 5.8, 6.1)
    stage.serve(BOWL_FOOD, "herb-yogurt", "pumpkin-seeds")
    stage.finish()


def sprinkled(stage: Stage) -> None:
    """Pinches strewn for one to four seconds: slow, but never at rest."""
    stage.bowl(TRAY_G)
    stage.add("bread", 56.9)
    stage.add("bean-spread", 25.4)
    stage.sprinkle("white-cheese", 37.2, 4.0)
    stage.sprinkle("peppers", 17.3, 2.5)
    stage.sprinkle("pickled-onion", 10.2, 1.0)
    stage.sprinkle("herbs", 5.6, 3.0)
    stage.finish()


def poured_slowly(stage: Stage) -> None:
    """Everything runs in for five to eight seconds: what is weighed must not follow it."""
    stage.bowl(POT_G)
    stage.pour("porridge", 236.4, 8.0)
    stage.pour("apple", 121.3, 5.0)
    stage.pour("yogurt", 97.7, 6.0)
    stage.finish()


def over_then_corrected(stage: Stage) -> None:
    """Far too much apple, more than that taken back, and the rest put in again."""
    stage.bowl(POT_G)
    stage.serve(POT_FOOD, "porridge")
    stage.add("apple", 158.0, then_s=2.0)
    stage.take("apple", 58.0, then_s=2.0)
    stage.add("apple", 21.4)
    stage.serve(POT_FOOD, "yogurt")
    stage.finish()


def made_up_later(stage: Stage) -> None:
    """Two thirds of the roots at first; the cook sees it last, and brings the last third."""
    stage.bowl(BOWL_G)
    stage.serve(BOWL_FOOD, "barley", "lentils")
    stage.add("roots", 56.6)
    stage.serve(BOWL_FOOD, "tomato-sauce", "red-cabbage", "herb-yogurt", "pumpkin-seeds")
    stage.add("roots", 21.2)
    stage.finish()


def under_and_over(stage: Stage) -> None:
    """Far too few lentils and far too many seeds, and the cook goes on."""
    stage.bowl(BOWL_G)
    stage.serve(BOWL_FOOD, "barley")
    stage.add("lentils", 38.0)
    stage.serve(BOWL_FOOD, "roots", "tomato-sauce", "red-cabbage", "herb-yogurt")
    stage.add("pumpkin-seeds", 14.6)
    stage.finish()


def two_without_a_pause(stage: Stage) -> None:
    """Sauce and cabbage fall in together: only their sum was ever at rest."""
    stage.bowl(BOWL_G)
    stage.serve(BOWL_FOOD, "barley", "lentils", "roots")
    stage.add("tomato-sauce", *BOWL_FOOD["tomato-sauce"], then_s=0.0)
    stage.serve(BOWL_FOOD, "red-cabbage", "herb-yogurt", "pumpkin-seeds")
    stage.finish()


def wrong_order(stage: Stage) -> None:
    """The apple before the porridge."""
    stage.bowl(POT_G)
    stage.serve(POT_FOOD, "apple", "porridge", "yogurt")
    stage.finish()


def skipped_step(stage: Stage) -> None:
    """No apple: what follows may be a little of it."""
    stage.bowl(POT_G)
    stage.serve(POT_FOOD, "porridge", "yogurt")
    stage.finish()


def last_steps_left_out(stage: Stage) -> None:
    """A bowl leaves without its last two steps, and the next one comes."""
    stage.bowl(BOWL_G)
    stage.serve(BOWL_FOOD, "barley", "lentils", "roots", "tomato-sauce", "red-cabbage")
    stage.finish()
    stage.bowl(17.6)
    stage.serve(BOWL_FOOD)
    stage.finish()


def stream_cut(stage: Stage) -> None:
    """The readings end with the build on the pan: more might have come."""
    stage.bowl(POT_G)
    stage.serve(POT_FOOD, "porridge", "apple")


def equal_targets(stage: Stage) -> None:
    """Two dips with one target: their order cannot be told, the written one is believed."""
    stage.bowl(PLATE_G)
    stage.serve(PLATE_FOOD)
    stage.finish()


FOOD_SCENES: Final = {
    "scoops-with-impact": Scene(
        served_bowl,
        BOWL,
        # A springy scale without smoothing worth the name shows each blow and its ringing.
        setting=Setting(
            make={"natural_hz": 8.0, "damping": 0.05, "low_pass_s": 0.04, "average_s": None},
            shaking=0.1,
        ),
        tells=(portion("barley"), portion("lentils"), portion("roots")),
    ),
    "many-scoops": Scene(many_scoops, BOWL, tells=(portion("barley"), portion("red-cabbage"))),
    "sprinkled": Scene(
        sprinkled, TRAY, setting=Setting(division="0.5 g"), tells=(portion("white-cheese"),)
    ),
    "poured-slowly": Scene(poured_slowly, tells=(portion("porridge"), portion("yogurt"))),
    "over-then-corrected": Scene(
        over_then_corrected,
        tells=({"event": "taken_back", "step": "apple"}, portion("apple")),
    ),
    "made-up-later": Scene(made_up_later, BOWL, tells=(portion("roots"), portion("lentils"))),
    "under-and-over": Scene(
        under_and_over, BOWL, tells=(portion("lentils", "under"), portion("pumpkin-seeds", "over"))
    ),
    "two-without-a-pause": Scene(
        two_without_a_pause,
        BOWL,
        tells=(
            portion("tomato-sauce", "unsure", attribution="joint"),
            portion("red-cabbage", "unsure", attribution="joint"),
        ),
    ),
    "wrong-order": Scene(
        wrong_order, tells=(portion("apple"), portion("porridge")), may_tell=("out_of_order",)
    ),
    "skipped-step": Scene(skipped_step, tells=(portion("porridge"),)),
    "last-steps-left-out": Scene(
        last_steps_left_out,
        BOWL,
        tells=(
            portion("herb-yogurt", "under", build=1, skipped=True),
            portion("pumpkin-seeds", "under", build=1, skipped=True),
            portion("pumpkin-seeds", build=2),
        ),
    ),
    "stream-cut": Scene(stream_cut, tells=(portion("porridge"), portion("yogurt", "unsure"))),
    "equal-targets": Scene(equal_targets, PLATE, tells=(portion("crisps"),)),
}
