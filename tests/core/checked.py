"""A person with test weights at a simulated scale, who does what a check asks."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scaled.core.checkup import Plate, Spot, plan_checkup
from scaled.core.permissible import Permissible, Standard
from scaled.core.reading import Reading, Unit
from scaled.core.units import Grams
from scaled.core.verifying import Verifying
from simulators.chance import stream
from simulators.display import Division
from simulators.hands import ScriptedHands
from simulators.pan import Pan
from simulators.pan_make import PanMake
from simulators.scene import Scene

if TYPE_CHECKING:
    from scaled.core.accuracy import AccuracyClass
    from scaled.core.checkup import Checkup, Lay
    from scaled.core.verification import Verification

LEANS = {
    Spot.MIDDLE: 0.0,
    Spot.FRONT_LEFT: -1.0,
    Spot.BACK_LEFT: -1.0,
    Spot.FRONT_RIGHT: 1.0,
    Spot.BACK_RIGHT: 1.0,
}
KITCHEN = Plate(Grams(1.0), "III", Grams(1.0), Grams(6000.0))
WEIGHTS = (Grams(500.0), Grams(2000.0))
LONGEST_S = 600.0


def plate(e_g: float, accuracy_class: AccuracyClass, capacity_g: float) -> Plate:
    return Plate(Grams(e_g), accuracy_class, Grams(e_g), Grams(capacity_g))


def checkup(standard: Standard = Standard.OIML_R76, *, new: bool = False) -> Checkup:
    return plan_checkup(KITCHEN, Permissible(standard, "III", 1.0, new), WEIGHTS)


def scale(**worn: float) -> PanMake:
    """A kitchen scale of 1 g divisions, good but for what is said."""
    return PanMake(division=Division.parse("1 g"), noise_g=0.1, **worn)  # type: ignore[arg-type]


class Checked:
    """A check under way at a simulated scale."""

    def __init__(self, make: PanMake, asked: Checkup, seed: int = 1) -> None:
        self.verifying = Verifying(asked)
        self.pan = Pan(make, stream(seed, "pan"))
        self.hands = ScriptedHands()
        self.t = 0.0
        self._scene = Scene(self.pan, self.hands)

    def play(self, seconds: float) -> None:
        until = self.t + seconds
        while self.t < until:
            self.t = round(self.t + 0.1, 3)
            for shown in self._scene.update(self.t):
                reading = Reading(shown.t, float(shown.weight), Unit(shown.unit), shown.stable)
                self.verifying.read(reading)

    def put(self, lay: Lay | None) -> None:
        self.hands.place(lay.load_g if lay else 0.0)
        self.pan.lean = LEANS[lay.spot] if lay else 0.0

    def obey(self) -> Verification:
        """Do all that is asked, to the end."""
        done = None
        while (asked := self.verifying.asked) is not None:
            if (asked.number, asked.lay) != done:
                done = (asked.number, asked.lay)
                self.play(1.0)
                self.put(asked.lay)
            self.play(0.1)
            assert self.t < LONGEST_S, f"stuck at {asked}"
        verification = self.verifying.verification
        assert verification is not None
        return verification
