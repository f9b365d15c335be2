"""Bowls carried between two simulated scales: noise, gestures and divisions as kitchens have them.

A first scale's cook makes the hot line's part of one bowl after another; a second one's takes
them in any order.
"""

from __future__ import annotations

from random import Random
from typing import Final, NamedTuple

import pytest

from scaled.catalogue import load_profile
from scaled.core.errand import Scale, errands
from scaled.core.events import Event, Finished, Portion, Verdict
from scaled.core.handoff_events import TakenOver
from scaled.core.reading import Reading, Unit
from scaled.core.session import Post, Session
from scaled.core.verdict import Band
from tests.staging.scene import BOWL, BOWL_FOOD, BOWL_G
from tests.staging.stage import Setting, Stage

HOT, COLD = "hot line", "cold line"
HOT_STEPS: Final = ("barley", "lentils", "roots", "tomato-sauce")
COLD_STEPS: Final = tuple(step for step in BOWL_FOOD if step not in HOT_STEPS)
PROFILE: Final = load_profile(BOWL)
BANDS: Final = {s.id: Band.around(s.target_g, s.under_g, s.over_g) for s in PROFILE.steps}
BOWLS: Final = 3


class Place:
    """One scale of the line: what happens on it, and the session that sees it."""

    def __init__(self, name: str, division: str, seed: int) -> None:
        self.stage = Stage(Setting(division), seed)
        self.session = Session(PROFILE, self.stage.make.division.size_g, post=Post(name, name))
        self.events: list[Event] = []
        self.t = 0.0
        self._seen = 0

    def watch(self) -> None:
        """Show the session what the scale showed since."""
        for shown in self.stage.shown[self._seen :]:
            reading = Reading(shown.t, float(shown.weight), Unit(shown.unit), shown.stable)
            self.events += self.session.read(reading)
            self.t = shown.t
        self._seen = len(self.stage.shown)


class Bowl(NamedTuple):
    """Which one it was on the first scale, and what is in it, g."""

    number: int
    food_g: dict[str, float]


def serve(divisions: tuple[str, str], seed: int) -> tuple[Place, Place, list[Bowl]]:
    """Three bowls, each a little different, taken in any order; what was in each, as taken."""
    rng = Random(seed)  # noqa: S311 -- a simulation
    hot, cold = Place(HOT, divisions[0], seed), Place(COLD, divisions[1], seed + 1000)
    cold.stage.wait(2.0)
    cold.watch()
    carried: list[Bowl] = []
    for number in range(1, BOWLS + 1):
        size = rng.gauss(1.0, 0.02)
        food = {step: [size * scoop_g for scoop_g in BOWL_FOOD[step]] for step in HOT_STEPS}
        hot.stage.bowl(BOWL_G)
        hot.stage.serve(food)
        hot.stage.finish()
        hot.watch()
        run(hot, cold)
        carried.append(Bowl(number, {step: sum(scoops) for step, scoops in food.items()}))
    rng.shuffle(carried)
    for bowl in carried:
        cold.stage.bowl(BOWL_G + sum(bowl.food_g.values()))
        cold.watch()
        run(hot, cold)
        cold.stage.serve(BOWL_FOOD, *COLD_STEPS)
        cold.stage.finish()
        cold.watch()
        run(hot, cold)
        bowl.food_g.update({step: sum(BOWL_FOOD[step]) for step in COLD_STEPS})
    hot.events += hot.session.close(hot.t)
    cold.events += cold.session.close(cold.t)
    return hot, cold, carried


def run(*line: Place) -> None:
    """Do all errands between the scales."""
    names = {place.session: name for place, name in zip(line, (HOT, COLD), strict=True)}
    while todo := list(errands([Scale(names[p.session], ("", ""), p.session) for p in line])):
        for name, command in todo:
            place = next(p for p in line if names[p.session] == name)
            place.events += place.session.command(command, place.t)


@pytest.mark.parametrize("divisions", [("1 g", "1 g"), ("2 g", "0.5 g"), ("0.5 g", "2 g")])
@pytest.mark.parametrize("seed", range(4))
def test_bowls_carried_to_another_scale_are_judged_as_if_they_had_stayed(
    divisions: tuple[str, str], seed: int
) -> None:
    hot, cold, carried = serve(divisions, seed)
    finished = [e for e in cold.events if isinstance(e, Finished)]
    assert len(finished) == BOWLS
    assert not [e for e in hot.events if isinstance(e, Finished)]
    # On the second scale builds are counted as they are set down.
    cold_words = [(carried[w.build - 1].food_g, w) for w in portions(cold)]
    assert {w.step for _, w in cold_words} == set(COLD_STEPS)
    for truth, word in cold_words:
        assert_honest(truth, word)
    for end, bowl in zip(finished, carried, strict=True):
        if end.net_g is not None and end.u_g is not None:
            true_g = sum(bowl.food_g.values())
            assert end.net_g == pytest.approx(true_g, abs=max(6 * end.u_g, 4.0))
    # All three are here, none of them twice; a number only where it is the right bowl.
    taken = [e for e in cold.events if isinstance(e, TakenOver)]
    assert sorted(e.origin for e in taken) == [f"{HOT}/{number}" for number in (1, 2, 3)]
    for event in taken:
        if event.became is not None:
            assert event.origin == f"{HOT}/{carried[event.became - 1].number}"
    sure = [w for w in (*portions(hot), *portions(cold)) if w.verdict is not Verdict.UNSURE]
    assert len(sure) >= 0.8 * BOWLS * len(BANDS)


def portions(place: Place) -> list[Portion]:
    return [event for event in place.events if isinstance(event, Portion)]


def assert_honest(truth: dict[str, float], word: Portion) -> None:
    """Unsure is honest; so is either side of a limit close by."""
    if word.verdict is Verdict.UNSURE:
        return
    assert word.net_g is not None
    assert word.u_g is not None
    true_g = truth[word.step]
    assert abs(word.net_g - true_g) <= max(4 * word.u_g, 0.5)
    assert word.verdict in {BANDS[word.step].judge(true_g + k * word.u_g) for k in (-2, 0, 2)}
