"""What scales, benches and lines do to the readings of a plain build."""

from __future__ import annotations

from typing import Final

from tests.staging.scene import BOWL, Scene, portion, served_bowl
from tests.staging.stage import Setting

ALL: Final = (portion("barley"), portion("roots"), portion("herb-yogurt"))


def _on(setting: Setting, seed: int = 1) -> Scene:
    return Scene(served_bowl, BOWL, seed, setting, tells=ALL)


SCALE_SCENES: Final = {
    "dropped": _on(Setting(line={"dropped": 0.1})),
    "duplicated": _on(Setting(line={"duplicated": 0.1})),
    "garbled": _on(Setting(line={"garbled": 0.03})),
    "vibration": _on(Setting(shaking=1.0)),
    "draught": _on(Setting(make={"draught_g": 0.3})),
    "drift": _on(Setting(make={"drift_g": 3.0})),
    "division-5g": Scene(served_bowl, BOWL, setting=Setting(division="5 g"), tells=ALL[:2]),
    "division-0.1g": _on(Setting(division="0.1 g")),
    "rate-5": _on(Setting(rate_hz=5)),
}
