"""The simulated cook: builds one dish after another from a recipe, and tells the truth of it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from random import Random
from typing import Final

from simulators.gesture import Hand, Key, KeyPress
from simulators.habits import Habits
from simulators.portion import Gesture, Move, plan_portion
from simulators.recipe import Recipe, RecipeStep
from simulators.stroke import Stroke
from simulators.truth import BuildTruth, DisturbanceKind, PortionTruth

_FIRST_PAUSE_S: Final = 2.0
"""Empty pan before the first bowl."""
_LIFTED_S: Final = 2.5
"""Median time a bowl is off the pan."""
_MERGE_S: Final = (0.0, 0.2)
"""Time between two ingredients added without a pause."""
_KEY_PAUSE_S: Final = 0.6
"""Median time between a key and the next movement."""
_NOTICES: Final = 0.5
"""Chance, a pause, that a display left in another unit or at another zero is put right."""


@dataclass(frozen=True, slots=True)
class Build:
    """One container's stay: what it does to the scale, and what was true.

    The cook is ready for the next one at ``end_s``; no stroke or key comes later.
    """

    strokes: tuple[Stroke, ...]
    keys: tuple[KeyPress, ...]
    truth: BuildTruth
    end_s: float


class Cook:
    """One cook with one recipe; each build follows the one before in time, from 0 s on."""

    def __init__(self, recipe: Recipe, habits: Habits, rng: Random) -> None:
        """Draw the cook's eye for each ingredient.

        Args:
            recipe: What to build.
            habits: How.
            rng: Source of chance.
        """
        self.recipe = recipe
        self.habits = habits
        self.rng = rng
        self.bias = {step.id: rng.gauss(0.0, habits.bias) for step in recipe.steps}
        self.tared = False
        self.unit_switched = False
        self._built = 0
        self._now_s = 0.0

    def build(self) -> Build:
        """Build the next dish."""
        first = self._built == 0
        self._built += 1
        build = _Builder(self, self._now_s).build(self._built, _FIRST_PAUSE_S if first else 0.0)
        self._now_s = build.end_s
        return build

    def chance(self, probability: float) -> bool:
        """Whether something of that probability happens now."""
        return self.rng.random() < probability

    def pause_s(self, median_s: float) -> float:
        """A pause of about that length."""
        return median_s * self.rng.lognormvariate(0.0, self.habits.pause_spread)

    def wait(self, hand: Hand, median_s: float) -> None:
        """Pause, and perhaps lean on the bowl meanwhile."""
        pause_s = self.pause_s(median_s)
        if not self.chance(self.habits.presses):
            hand.wait(pause_s)
            return
        before_s = pause_s * self.rng.random()
        hand.wait(before_s)
        hand.press()
        hand.wait(pause_s - before_s)

    def hit(self, hand: Hand, key: Key) -> None:
        """Press a key of the scale."""
        hand.hit(key)
        hand.wait(self.pause_s(_KEY_PAUSE_S))

    def lift_and_return(self, hand: Hand, load_g: float, step: str | None) -> None:
        """Take the bowl off and set it back; ``step`` is what was added last."""
        start_s = hand.now_s
        hand.lift(load_g)
        hand.wait(self.pause_s(_LIFTED_S))
        hand.put_down(load_g, step)
        hand.note(DisturbanceKind.LIFT, start_s)

    def ready_for_next(self, hand: Hand) -> None:
        """The pause before the next empty bowl; a wrong zero may be noticed in it."""
        hand.wait(self.pause_s(self.habits.build_pause_s))
        if self.tared and self.chance(_NOTICES):
            self.tared = False
            self.hit(hand, Key.TARE)


class _Builder:
    """One build under way."""

    def __init__(self, cook: Cook, start_s: float) -> None:
        recipe, rng = cook.recipe, cook.rng
        self._cook = cook
        self._habits = cook.habits
        self._hand = Hand(rng, start_s)
        self._tare_g = recipe.tare_g + recipe.tare_tolerance_g * rng.uniform(-1.0, 1.0)
        self._portions: dict[str, PortionTruth] = {}

    def build(self, number: int, first_pause_s: float) -> Build:
        hand = self._hand
        hand.wait(first_pause_s)
        hand.put_down(self._tare_g)
        placed_s = hand.now_s
        abandoned = self._fill(self._order())
        self._cook.wait(hand, self._habits.step_pause_s)
        self._carry_off(abandoned)
        lifted_s = hand.now_s
        self._cook.ready_for_next(hand)
        steps = self._cook.recipe.steps
        truth = BuildTruth(
            number=number,
            tare_g=self._tare_g,
            placed_s=placed_s,
            lifted_s=lifted_s,
            portions=tuple(self._portions.get(s.id, PortionTruth(s.id)) for s in steps),
            disturbances=tuple(hand.disturbances),
            rests=hand.rests(),
            abandoned=abandoned,
        )
        return Build(tuple(hand.strokes), tuple(hand.keys), truth, hand.now_s)

    @property
    def _load_g(self) -> float:
        return self._tare_g + math.fsum(portion.net_g for portion in self._portions.values())

    def _order(self) -> list[RecipeStep]:
        """The steps as this cook will do them: some left out, some before their turn."""
        chance, habits = self._cook.chance, self._habits
        order = [step for step in self._cook.recipe.steps if not chance(habits.skips)]
        for i in range(len(order) - 1):
            if chance(habits.reorders):
                order[i], order[i + 1] = order[i + 1], order[i]
        return order

    def _fill(self, order: list[RecipeStep]) -> bool:
        """Add all portions; True when the cook gave up on this bowl."""
        before: RecipeStep | None = None
        for step in order:
            if before and self._cook.chance(self._habits.swaps):
                return True
            merged = before is not None and self._cook.chance(self._habits.merges)
            if merged:
                self._hand.wait(self._cook.rng.uniform(*_MERGE_S))
            else:
                self._turn_to(step, before)
            self._add(step, before.id if before and merged else None)
            before = step
        return False

    def _turn_to(self, step: RecipeStep, before: RecipeStep | None) -> None:
        """What happens between two ingredients."""
        chance, habits = self._cook.chance, self._habits
        self._cook.wait(self._hand, habits.step_pause_s)
        moved_on = before is not None and before.position != step.position
        if chance(habits.hands_over if moved_on else habits.lifts):
            self._cook.lift_and_return(self._hand, self._load_g, before.id if before else None)
            self._cook.wait(self._hand, habits.scoop_pause_s)
        if chance(habits.tares):
            self._cook.tared = True
            self._cook.hit(self._hand, Key.TARE)
        if chance(_NOTICES if self._cook.unit_switched else habits.switches_unit):
            self._cook.unit_switched = not self._cook.unit_switched
            self._cook.hit(self._hand, Key.UNIT)

    def _add(self, step: RecipeStep, joint_with: str | None) -> None:
        cook, hand = self._cook, self._hand
        gestures = plan_portion(step, self._habits, cook.bias[step.id], cook.rng)
        start_s = hand.now_s
        for count, gesture in enumerate(gestures):
            if count:
                self._cook.wait(self._hand, self._habits.scoop_pause_s)
            self._make(gesture, step.id)
        self._portions[step.id] = PortionTruth(
            step=step.id,
            net_g=math.fsum(gesture.change_g for gesture in gestures),
            start_s=start_s,
            end_s=hand.now_s,
            turn=len(self._portions),
            joint_with=joint_with,
        )

    def _make(self, gesture: Gesture, step: str) -> None:
        if gesture.move is Move.DROP:
            self._hand.drop(gesture.amount_g, step)
        elif gesture.move is Move.SPRINKLE:
            self._hand.sprinkle(gesture.amount_g, step)
        else:
            self._hand.take_back(gesture.amount_g, step)

    def _carry_off(self, abandoned: bool) -> None:
        start_s = self._hand.now_s
        self._hand.lift(self._load_g)
        if abandoned:
            self._hand.note(DisturbanceKind.SWAP, start_s)
