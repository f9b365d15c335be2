"""A weighing scene: hands, pan and line together, advanced in time; pure and seeded."""

from __future__ import annotations

from dataclasses import dataclass

from simulators.chance import stream
from simulators.cook import Cook
from simulators.display import Division, Shown
from simulators.gesture import Key
from simulators.habits import CLEAN, Habits
from simulators.hands import CookHands, Hands
from simulators.line_faults import LineFaults
from simulators.pan import Pan
from simulators.pan_make import PanMake
from simulators.recipe import read_recipe
from simulators.truth import BuildTruth, Disturbance


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """All that decides a simulated run: the same plan gives the same readings.

    Attributes:
        recipe_text: A build profile, TOML.
        seed: Source of all chance. Cook, scale and line draw from separate streams, so one
            seed gives one cook's work on scales of different division and rate.
        division: Smallest displayed step, such as ``"1 g"`` or ``"0.05 oz"``.
        rate_hz: Readings a second: 5, 10 or 20.
        habits: The cook's and the line's.
        builds: Containers to serve; None: without end.
    """

    recipe_text: str
    seed: int = 1
    division: str = "1 g"
    rate_hz: int = 10
    habits: Habits = CLEAN
    builds: int | None = None

    def pan(self) -> Pan:
        """The scale of this run, drawn out of those found in kitchens.

        Raises:
            DivisionError: The division cannot be read.
        """
        division = Division.parse(self.division)
        return Pan(
            PanMake.draw(division, self.rate_hz, stream(self.seed, "make")),
            stream(self.seed, "pan"),
        )

    def line(self) -> LineFaults:
        """The line of this run."""
        return LineFaults(self.habits, stream(self.seed, "line"))

    def cook(self) -> CookHands:
        """The cook of this run.

        Raises:
            RecipeError: The recipe cannot be read.
        """
        recipe = read_recipe(self.recipe_text)
        return CookHands(Cook(recipe, self.habits, stream(self.seed, "cook")), self.builds)


class Scene:
    """One scale with hands at it and a line from it."""

    def __init__(self, pan: Pan, hands: Hands, line: LineFaults | None = None) -> None:
        """Put them together.

        Args:
            pan: The scale, at time zero.
            hands: Act on it.
            line: Carries its readings; None: a perfect one.
        """
        self.pan = pan
        self.hands = hands
        self._line = line

    def update(self, t: float) -> list[Shown]:
        """Advance to time ``t``, s; the readings that arrived meanwhile, oldest first."""
        shown = []
        while press := self.hands.next_key(t):
            shown += self.pan.update(press.at_s, self.hands.load_g)
            if press.key is Key.TARE:
                self.pan.press_tare()
            else:
                self.pan.press_unit()
        shown += self.pan.update(t, self.hands.load_g)
        if self._line is None:
            return shown
        return [arrived for reading in shown for arrived in self._line.carry(reading)]


def quiet_scene(hands: Hands, division: str = "1 g", rate_hz: int = 10) -> Scene:
    """A scale without noise, shaking, drift or draught, on a perfect line.

    Raises:
        DivisionError: The division cannot be read.
    """
    make = PanMake(division=Division.parse(division), rate_hz=rate_hz)
    return Scene(Pan(make, stream(0)), hands)


@dataclass(frozen=True, slots=True)
class Run:
    """A finished run.

    Attributes:
        plan: What it was made from.
        make: The scale it was weighed on.
        readings: All that arrived, oldest first.
        builds: What really happened, in order.
        faults: What the line did, in order.
        zeros_g: Where the scale's zero truly stood: time and :attr:`Pan.zero_g`, once a reading
            interval.
    """

    plan: Plan
    make: PanMake
    readings: tuple[Shown, ...]
    builds: tuple[BuildTruth, ...]
    faults: tuple[Disturbance, ...]
    zeros_g: tuple[tuple[float, float], ...]


def simulate(plan: Plan) -> Run:
    """Play a plan to its end, as fast as can be; ``plan.builds`` must be given.

    Raises:
        RecipeError: The recipe cannot be read.
        DivisionError: The division cannot be read.
    """
    if plan.builds is None:
        raise ValueError("a run needs a number of builds to end")
    hands, line = plan.cook(), plan.line()
    scene = Scene(plan.pan(), hands, line)
    readings: list[Shown] = []
    zeros_g: list[tuple[float, float]] = []
    while not hands.done:
        t = (len(zeros_g) + 1) / plan.rate_hz
        readings += scene.update(t)
        zeros_g.append((t, scene.pan.zero_g))
    return Run(
        plan=plan,
        make=scene.pan.make,
        readings=tuple(readings),
        builds=tuple(hands.builds),
        faults=tuple(line.log),
        zeros_g=tuple(zeros_g),
    )
