"""Hands by script at a simulated scale, and what truly lay in the bowl.

A simulated cook (:mod:`simulators.cook`) does by chance what cooks do; here a scene does one
thing for certain, on the same scales.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from simulators.chance import stream
from simulators.display import Division, Shown
from simulators.habits import Habits
from simulators.line_faults import LineFaults
from simulators.pan import Pan
from simulators.pan_make import PanMake
from simulators.stroke import Landing, Load, Press

SCATTER_S: Final = (0.1, 0.4)
FALL_S: Final = (0.06, 0.16)
"""v/g of food let go 2 to 12 cm above the bowl: v = sqrt(2 g h)."""
PAUSE_SPREAD: Final = 0.15
"""Standard deviation of the logarithm of a pause."""
EMPTY_S: Final = 2.0
"""Empty pan before the first bowl."""


@dataclass(frozen=True)
class Setting:
    """The scale of a scene and its line.

    Attributes:
        division: Smallest displayed step.
        rate_hz: Readings a second.
        make: Changes to a scale drawn from those found in kitchens.
        shaking: Vibration at the display, in divisions; None: as drawn.
        line: Chances, a reading, that the line drops, duplicates or garbles it.
        labelled: Its readings carry their unit.
    """

    division: str = "1 g"
    rate_hz: int = 10
    make: Mapping[str, float | None] = field(default_factory=dict)
    shaking: float | None = None
    line: Mapping[str, float] = field(default_factory=dict)
    labelled: bool = True

    @property
    def remarks(self) -> str:
        """What is not usual, for the notes of a capture; starts with a comma or is empty."""
        changes = [f"{part} {value}" for part, value in {**self.make, **self.line}.items()]
        if self.shaking is not None:
            changes.append(f"shaking {self.shaking} d")
        if not self.labelled:
            changes.append("without unit")
        return "".join(f", {change}" for change in changes)

    def scale(self, seed: int) -> PanMake:
        """The scale, what is left open drawn from those found in kitchens."""
        division = Division.parse(self.division)
        drawn = PanMake.draw(division, self.rate_hz, stream(seed, "make"))
        make: PanMake = replace(drawn, **self.make)  # type: ignore[arg-type]
        if self.shaking is None:
            return make
        return replace(make, vibration_g=self.shaking * division.size_g / make.vibration_gain)


class Stage:
    """Hands that do what they are told, one thing after another.

    Attributes:
        make: The scale.
        shown: All that arrived, oldest first.
        truth: What really lies in each bowl, g, by build and step.
        builds: How many bowls were set down.
    """

    def __init__(self, setting: Setting, seed: int) -> None:
        """Set up the scale, empty; the seed decides all that the script leaves open."""
        self.make = setting.scale(seed)
        self.shown: list[Shown] = []
        self.truth: dict[tuple[int, str], float] = {}
        self._pan = Pan(self.make, stream(seed, "pan"))
        self._line = LineFaults(Habits(**setting.line), stream(seed, "line"))
        self._labelled = setting.labelled
        self._rng = stream(seed, "hands")
        self._load = Load()
        self._t = 0.0
        self.builds = 0
        self._bowl_g = 0.0

    def wait(self, span_s: float) -> None:
        """Let time pass."""
        self._t += span_s
        for shown in self._pan.update(self._t, self._load.at):
            bare = shown if self._labelled else replace(shown, unit="")
            self.shown += self._line.carry(bare)

    def pause(self, about_s: float) -> None:
        """Let about so much time pass."""
        self.wait(about_s * self._rng.lognormvariate(0.0, PAUSE_SPREAD))

    def lay(self, weight_g: float) -> None:
        """Lay something on the pan that stays there."""
        self._lay(Landing(self._t, 0.1, weight_g))

    def bowl(self, tare_g: float, then_s: float = 3.0) -> None:
        """Set down the container of the next build."""
        if not self.builds:
            self.wait(EMPTY_S)
        self.builds += 1
        self._bowl_g = tare_g
        self._put_down()
        self.pause(then_s)

    def serve(self, food: Mapping[str, Sequence[float]], *steps: str) -> None:
        """Add whole portions of these steps in this order; all of them when none is named."""
        for step in steps or food:
            self.add(step, *food[step])

    def add(self, step: str, *scoops_g: float, every_s: float = 1.5, then_s: float = 3.0) -> None:
        """Let scoop after scoop fall into the bowl."""
        for count, scoop_g in enumerate(scoops_g):
            if count:
                self.pause(every_s)
            self._count(step, scoop_g)
            span_s, fall_s = self._rng.uniform(*SCATTER_S), self._rng.uniform(*FALL_S)
            self._lay(Landing(self._t, span_s, scoop_g, fall_s))
        self.pause(then_s)

    def sprinkle(self, step: str, amount_g: float, span_s: float, then_s: float = 3.0) -> None:
        """Strew pinches for a while, about four a second."""
        count = round(4 * span_s)
        sizes = [self._rng.uniform(0.5, 1.5) for _ in range(count)]
        self._count(step, amount_g)
        for size in sizes:
            fall_s = self._rng.uniform(*FALL_S)
            self._lay(Landing(self._t, 0.12, amount_g * size / sum(sizes), fall_s))
            self.wait(self._rng.uniform(0.08, 0.18))
        self.pause(then_s)

    def pour(self, step: str, amount_g: float, span_s: float, then_s: float = 3.0) -> None:
        """Let it run in slowly."""
        self._count(step, amount_g)
        self._lay(Landing(self._t, span_s, amount_g, 0.06))
        self.pause(then_s)

    def take(self, step: str, amount_g: float, then_s: float = 3.0) -> None:
        """Dip a tool in and take some off again."""
        self._count(step, -amount_g)
        self.press(self._rng.uniform(10.0, 40.0), 0.4, then_s=0.0)
        self._lay(Landing(self._t, 0.2, -amount_g))
        self.pause(then_s)

    def press(self, force_g: float, span_s: float, then_s: float = 2.0) -> None:
        """Lean on the bowl with a trembling hand."""
        self._lay(Press(self._t, span_s, force_g, min(span_s / 2, 0.1), 5.0))
        self.wait(then_s)

    def lean(self, weight_g: float, span_s: float, then_s: float = 2.0) -> None:
        """Leave a tool in the bowl, dead still, and take it out again."""
        self._lay(Landing(self._t, 0.15, weight_g))
        self.wait(span_s)
        self._lay(Landing(self._t, 0.15, -weight_g))
        self.wait(then_s)

    def lift(self, off_s: float = 2.5) -> None:
        """Take the bowl off the pan."""
        self._lay(Landing(self._t, 0.2, -self._standing_g))
        self.pause(off_s)

    def put_back(self, step: str = "", amount_g: float = 0.0, then_s: float = 3.0) -> None:
        """Set the bowl back, with food that was added to it meanwhile."""
        if step:
            self._count(step, amount_g)
        self._put_down()
        self.pause(then_s)

    def tip_over(self, tare_g: float, then_s: float = 3.0) -> None:
        """Set the build back in another container."""
        self._bowl_g = tare_g
        self.put_back(then_s=then_s)

    def finish(self) -> None:
        """Take the bowl away for good."""
        self.lift(off_s=5.0)

    def tare_key(self, then_s: float = 2.0) -> None:
        """Press the scale's tare key."""
        self._pan.press_tare()
        self.wait(then_s)

    def unit_key(self, then_s: float = 2.0) -> None:
        """Press the scale's unit key."""
        self._pan.press_unit()
        self.wait(then_s)

    @property
    def _standing_g(self) -> float:
        food = (g for (build, _), g in self.truth.items() if build == self.builds)
        return self._bowl_g + sum(food)

    def _put_down(self) -> None:
        self._lay(Landing(self._t, 0.1, self._standing_g, 0.02))

    def _count(self, step: str, amount_g: float) -> None:
        key = (self.builds, step)
        self.truth[key] = self.truth.get(key, 0.0) + amount_g

    def _lay(self, stroke: Landing | Press) -> None:
        self._load.add([stroke])
        self.wait(stroke.span_s)
