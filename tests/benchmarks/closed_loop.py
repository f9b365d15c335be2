"""The loop closed: a simulated cook does what the live state says, reading by reading."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from scaled.catalogue import find_profile, load_profile
from scaled.core.command import Next, Undo
from scaled.core.errors import CommandRefused
from scaled.core.live import Ask
from scaled.core.reading import GRAMS, Reading, Unit
from scaled.core.session import Session
from scaled.screens.weight import writing
from simulators.chance import stream
from simulators.cook import Cook
from simulators.guidance import Guidance, Say, Tap
from simulators.obedient import ObedientHands
from simulators.recipe import RecipeStep, read_recipe
from simulators.scene import Plan, Run, Scene, simulate
from tests.benchmarks.corpus import BUILDS_A_RUN, Case

if TYPE_CHECKING:
    from collections.abc import Callable

    from scaled.core.events import Event
    from scaled.core.live import Live
    from scaled.core.profile import BuildProfile
    from simulators.display import Shown
    from simulators.following import GuidedBuild
    from simulators.truth import BuildTruth

_SAYS: Final = MappingProxyType(
    {
        Ask.PLACE: Say.SET_DOWN,
        Ask.RETURN: Say.SET_DOWN,
        Ask.ADD: Say.ADD,
        Ask.TAKE_BACK: Say.TAKE_BACK,
        Ask.NEXT: Say.GO_ON,
        Ask.LIFT: Say.TAKE_AWAY,
        Ask.WAIT: Say.WAIT,
        Ask.CHECK: Say.UNCLEAR,
    }
)


@dataclass(frozen=True)
class Guided:
    """One run of a cook who obeys.

    Attributes:
        run: The run that came of it; its readings are left out.
        builds: What came of each build.
        events: What the station said.
        alone: The same cook's builds without a screen.
        steps: What the recipe asks for.
    """

    run: Run
    builds: tuple[GuidedBuild, ...]
    events: tuple[Event, ...]
    alone: tuple[BuildTruth, ...]
    steps: tuple[RecipeStep, ...]


class StationScreen:
    """The station's screen as a simulated cook sees it; its keys reach the session.

    Attributes:
        session: Follows the readings.
        events: What it said.
    """

    def __init__(self, profile: BuildProfile, division_g: float) -> None:
        self.session = Session(profile, division_g)
        self.events: list[Event] = []
        self._written = writing(profile)
        self._t = 0.0

    def read(self, shown: Shown) -> None:
        """Take a reading as a driver delivers it."""
        self._t = shown.t
        reading = Reading(shown.t, float(shown.weight), Unit(shown.unit), shown.stable)
        self.events += self.session.read(reading)

    def look(self) -> Guidance:
        """What the screen says, its amounts rounded as it rounds them."""
        live = self.session.live
        if live is None:
            return Guidance(Say.WAIT)
        step = live.next_step if live.ask is Ask.NEXT else live.step
        if live.ask not in {Ask.ADD, Ask.TAKE_BACK, Ask.NEXT, Ask.CHECK}:
            step = None
        return Guidance(_SAYS[live.ask], step, self._amount_g(live), max(1, live.scoops))

    def tap(self, key: Tap) -> None:
        """Press next or undo; a refusal is a line on the screen and no more."""
        with suppress(CommandRefused):
            self.events += self.session.command(Next() if key is Tap.NEXT else Undo(), self._t)

    def _amount_g(self, live: Live) -> float:
        if live.amount_g <= 0:
            return 0.0
        written = self._written.for_uncertainty(live.u_g)
        digits = written.amount(live.amount_g).removesuffix(f" {written.unit}")
        return float(digits) * GRAMS[written.unit]


def alone(case: Case) -> tuple[BuildTruth, ...]:
    """The builds of a case's cook without a screen."""
    return simulate(_plan(case)).builds


def _plan(case: Case) -> Plan:
    return Plan(
        recipe_text=find_profile(case.profile).text,
        seed=case.seed,
        division=case.division,
        rate_hz=case.rate_hz,
        habits=case.habits,
        builds=BUILDS_A_RUN,
    )


def obey(case: Case, watch: Callable[[Session, float], None] | None = None) -> Guided:
    """Let a cook be led through a case; ``watch`` is called after every reading."""
    plan = _plan(case)
    pan, recipe = plan.pan(), read_recipe(plan.recipe_text)
    screen = StationScreen(load_profile(case.profile), pan.make.division.size_g)
    cook = Cook(recipe, case.habits, stream(case.seed, "cook"))
    hands = ObedientHands(cook, screen, BUILDS_A_RUN)
    line = plan.line()
    scene = Scene(pan, hands, line)
    count = 0
    while not hands.done:
        count += 1
        for shown in scene.update(count / case.rate_hz):
            screen.read(shown)
            if watch:
                watch(screen.session, shown.t)
    builds = tuple(hands.builds)
    truths = tuple(build.truth for build in builds)
    return Guided(
        run=Run(plan, pan.make, (), truths, tuple(line.log), ()),
        builds=builds,
        events=(*screen.events, *screen.session.close(count / case.rate_hz)),
        alone=alone(case),
        steps=recipe.steps,
    )
