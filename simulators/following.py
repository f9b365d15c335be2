"""One build by a cook who reads the screen after every gesture and does what it says."""

from __future__ import annotations

import math
from collections.abc import Generator
from dataclasses import dataclass
from typing import Final

from simulators.cook import Cook
from simulators.estimate import CRUMB_G, is_whole, scooped_g, trimmed_g
from simulators.gesture import Hand, Key
from simulators.guidance import Guidance, Say, Screen, Tap
from simulators.reader import Reader
from simulators.recipe import RecipeStep
from simulators.truth import BuildTruth, DisturbanceKind, PortionTruth

ROUNDS: Final = 12
"""A screen that wants more corrections of one ingredient leads in circles."""
ANSWERS: Final = 6
"""A screen that wants to be told by a key more often than this in one build knows nothing."""

_IN_HAND: Final = frozenset({Say.SET_DOWN})
_ON_PAN: Final = frozenset(Say) - {Say.WAIT}


@dataclass(frozen=True, slots=True)
class GuidedBuild:
    """What came of one build.

    Attributes:
        truth: What really happened; abandoned when the cook gave up.
        gestures: Additions and take-backs.
        corrections: Those of them that were less than a whole gesture, or took food back.
        reading_s: Time spent taking in the screen.
        waiting_s: Time spent standing before it with nothing to do.
        contradictions: Times the screen took its word back while the cook did nothing, or said
            what could not be.
        taps: Times the screen had to be told by a key where the build stood.
        gave_up: Why the cook gave up; "" when the screen led to the end.
    """

    truth: BuildTruth
    gestures: int
    corrections: int
    reading_s: float
    waiting_s: float
    contradictions: int
    taps: int
    gave_up: str


@dataclass(slots=True)
class _Portion:
    """One ingredient so far."""

    start_s: float
    end_s: float
    net_g: float = 0.0
    gestures: int = 0
    corrections: int = 0


class Following:
    """One build under way.

    Its movements are generators that stop whenever time has to pass up to the hand's.
    """

    def __init__(self, cook: Cook, hand: Hand, screen: Screen) -> None:
        """Take a bowl.

        Args:
            cook: Whose eye and habits.
            hand: Lays the movements.
            screen: What is looked at.
        """
        recipe, rng = cook.recipe, cook.rng
        self._cook = cook
        self._hand = hand
        self._screen = screen
        self._reader = Reader(hand, screen, rng)
        self._steps = {step.id: step for step in recipe.steps}
        self._tare_g = recipe.tare_g + recipe.tare_tolerance_g * rng.uniform(-1.0, 1.0)
        self._placed_s = self._lifted_s = hand.now_s
        self._portions: dict[str, _Portion] = {}
        self._turned: set[str] = set()
        self._taps = 0

    def build(self) -> Generator[None, None, None]:
        """From an empty pan to an empty pan."""
        yield from self._fill()
        start_s = self._hand.now_s
        self._hand.lift(self._load_g)
        if self._reader.gave_up:
            self._hand.note(DisturbanceKind.SWAP, start_s)
        self._lifted_s = self._hand.now_s
        yield
        self._cook.ready_for_next(self._hand)
        yield

    def result(self, number: int) -> GuidedBuild:
        """What came of it, once it is over; ``number`` counts from 1."""
        reader, portions = self._reader, self._portions.values()
        truth = BuildTruth(
            number=number,
            tare_g=self._tare_g,
            placed_s=self._placed_s,
            lifted_s=self._lifted_s,
            portions=tuple(self._truth(step) for step in self._steps),
            disturbances=tuple(self._hand.disturbances),
            rests=self._hand.rests(),
            abandoned=bool(reader.gave_up),
        )
        return GuidedBuild(
            truth=truth,
            gestures=sum(portion.gestures for portion in portions),
            corrections=sum(portion.corrections for portion in portions),
            reading_s=reader.reading_s,
            waiting_s=reader.waiting_s,
            contradictions=reader.contradictions,
            taps=self._taps,
            gave_up=reader.gave_up,
        )

    def _truth(self, step: str) -> PortionTruth:
        portion = self._portions.get(step)
        if portion is None:
            return PortionTruth(step)
        turn = list(self._portions).index(step)
        return PortionTruth(step, portion.net_g, portion.start_s, portion.end_s, turn)

    @property
    def _load_g(self) -> float:
        return self._tare_g + math.fsum(portion.net_g for portion in self._portions.values())

    @property
    def _is_bare(self) -> bool:
        """Whether nothing is in the bowl yet."""
        return all(portion.net_g < CRUMB_G for portion in self._portions.values())

    def _fill(self) -> Generator[None, None, None]:
        """Set the bowl down and do what is asked until it may go."""
        if (yield from self._reader.read(_IN_HAND)) is None:
            return
        self._reader.act()
        self._hand.put_down(self._tare_g)
        self._placed_s = self._hand.now_s
        yield
        while not self._reader.gave_up:
            told = yield from self._reader.read(_ON_PAN)
            if told is None or (yield from self._obey(told)):
                return

    def _obey(self, told: Guidance) -> Generator[None, None, bool]:
        """Do what was read; True when the bowl may go."""
        habits, step = self._cook.habits, self._steps.get(told.step or "")
        fetches = told.step not in self._portions and told.say is not Say.UNCLEAR
        self._cook.wait(self._hand, habits.step_pause_s if fetches else habits.scoop_pause_s)
        yield
        if fetches and step is not None and self._turn_to(step):
            yield
            return False
        if not self._reader.stands(told):
            return False
        if told.say is Say.TAKE_AWAY and not self._is_bare:
            return True
        self._reader.act()
        self._do(told, step)
        yield
        return False

    def _do(self, told: Guidance, step: RecipeStep | None) -> None:
        if told.say in {Say.SET_DOWN, Say.TAKE_AWAY}:
            self._reader.contradict(f"{told.say} what was just set down")
            self._cook.lift_and_return(self._hand, self._load_g, None)
        elif told.say is Say.UNCLEAR:
            self._answer(told.step)
        elif step is not None and told.say is Say.TAKE_BACK:
            self._take(told.amount_g, step)
        elif step is not None:
            self._add(told, step)

    def _turn_to(self, step: RecipeStep) -> bool:
        """Habits before an ingredient; True when one of them touched bowl or scale."""
        if step.id in self._turned:
            return False
        before = next((self._steps[done] for done in reversed(self._portions)), None)
        self._turned.add(step.id)
        cook, habits = self._cook, self._cook.habits
        moved_on = before is not None and before.position != step.position
        lifts = cook.chance(habits.hands_over if moved_on else habits.lifts)
        if lifts:
            cook.lift_and_return(self._hand, self._load_g, before.id if before else None)
            cook.wait(self._hand, habits.scoop_pause_s)
        tares = cook.chance(habits.tares)
        if tares:
            cook.tared = True
            cook.hit(self._hand, Key.TARE)
        return lifts or tares

    def _answer(self, step: str | None) -> None:
        """Say by a key whether the step that the screen names is done or was not begun.

        Over a bowl with nothing in it yet the screen can only mean the one before, which is done.
        """
        before = self._is_bare and step != next(iter(self._steps))
        self._taps += 1
        if self._taps > ANSWERS:
            self._reader.gave_up = "asks for keys again and again"
        self._screen.tap(Tap.NEXT if before or step in self._portions else Tap.UNDO)

    def _add(self, told: Guidance, step: RecipeStep) -> None:
        scoop_g = step.target_g / step.scoops
        wanted_g = told.amount_g / told.gestures if told.say is Say.ADD else scoop_g
        whole = is_whole(wanted_g, step)
        added_g = (scooped_g if whole else trimmed_g)(wanted_g, step, self._cook)
        start_s = self._hand.now_s
        if step.by_fingers and self._cook.chance(self._cook.habits.sprinkles):
            self._hand.sprinkle(added_g, step.id)
        else:
            self._hand.drop(added_g, step.id)
        portion = self._portions.setdefault(step.id, _Portion(start_s, start_s))
        self._count(portion, added_g, correction=not whole)

    def _take(self, amount_g: float, step: RecipeStep) -> None:
        portion = self._portions.get(step.id)
        if portion is None or portion.net_g < CRUMB_G:
            self._reader.contradict(f"take back {step.id}, of which there is none")
            self._answer(step.id)
            return
        taken_g = min(trimmed_g(amount_g, step, self._cook), portion.net_g)
        self._hand.take_back(taken_g, step.id)
        self._count(portion, -taken_g, correction=True)

    def _count(self, portion: _Portion, change_g: float, *, correction: bool) -> None:
        portion.net_g += change_g
        portion.end_s = self._hand.now_s
        portion.gestures += 1
        portion.corrections += correction
        if portion.corrections > ROUNDS:
            self._reader.gave_up = "goes round in circles"
