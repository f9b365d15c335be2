"""The cook who does what a screen says: at a screen of the test's own."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

import pytest

from simulators.chance import stream
from simulators.cook import Cook
from simulators.following import ANSWERS, ROUNDS, GuidedBuild
from simulators.guidance import Guidance, Say, Tap
from simulators.habits import CLEAN, Habits
from simulators.obedient import ObedientHands
from simulators.reader import CONTRADICTIONS, GIVES_UP_S
from simulators.recipe import read_recipe
from simulators.scene import Scene, quiet_scene
from simulators.truth import DisturbanceKind

STEADY = replace(
    CLEAN, bias=0.0, spread=0.0, scoop_spread=0.0, overshoots=0.0, presses=0.0, lifts=0.0,
    hands_over=0.0, sprinkles=0.0,
)  # fmt: skip
SET_DOWN = Guidance(Say.SET_DOWN)
TAKE_AWAY = Guidance(Say.TAKE_AWAY)


@dataclass
class Board:
    """A screen that shows what a function makes of the cook's true build."""

    show: Callable[[Board], Guidance]
    hands: ObedientHands = field(init=False)
    t: float = 0.0
    load_g: float = 0.0
    taps: list[Tap] = field(default_factory=list)
    lifts: int = 0

    def look(self) -> Guidance:
        return self.show(self)

    def tap(self, key: Tap) -> None:
        self.taps.append(key)


def script(*said: Guidance) -> Callable[[Board], Guidance]:
    """Says one thing after the other; the next one as soon as the load has changed for good."""
    left = list(said)
    seen = [0.0]

    def show(board: Board) -> Guidance:
        if abs(board.load_g - seen[0]) > 0.1 and len(left) > 1:
            seen[0] = board.load_g
            left.pop(0)
        return left[0]

    return show


def serve(
    recipe_text: str, show: Callable[[Board], Guidance], habits: Habits = STEADY, builds: int = 1
) -> tuple[list[GuidedBuild], Board]:
    """Let a cook work before such a screen to the end."""
    board = Board(show)
    cook = Cook(read_recipe(recipe_text), habits, stream(3))
    hands = board.hands = ObedientHands(cook, board, builds)
    for t in times(quiet_scene(hands)):
        board.t = t
        before_g, board.load_g = board.load_g, hands.load_g(t)
        board.lifts += before_g > 0.0 and not board.load_g
    return hands.builds, board


def times(scene: Scene) -> Iterator[float]:
    count = 0
    while not scene.hands.done:
        count += 1
        scene.update(count / 10)
        yield count / 10
        assert count < 10_000


def add(amount_g: float, gestures: int = 1, step: str = "grain") -> Guidance:
    return Guidance(Say.ADD, step, amount_g, gestures)


def nets(build: GuidedBuild) -> dict[str, float]:
    """What every step got, to a tenth of a gram."""
    return {p.step: round(p.net_g, 1) for p in build.truth.portions if p.turn is not None}


def test_an_exact_cook_does_exactly_what_is_said(recipe_text: str) -> None:
    said = (
        SET_DOWN, add(120.0, 3), add(80.0, 2), add(40.0), Guidance(Say.GO_ON, "sauce"),
        TAKE_AWAY,
    )  # fmt: skip
    (build,), board = serve(recipe_text, script(*said))
    assert nets(build) == {"grain": 120.0, "sauce": 56.7}
    assert (build.gestures, build.corrections, build.gave_up, build.taps) == (4, 0, "", 0)
    assert not build.truth.abandoned
    assert [p.turn for p in build.truth.portions] == [0, 1, None, None]
    assert board.load_g == pytest.approx(0.0, abs=1e-6)


def test_less_than_a_gesture_is_moved_by_hand_and_less_exactly(recipe_text: str) -> None:
    said = (SET_DOWN, add(120.0), add(12.0), Guidance(Say.TAKE_BACK, "grain", 9.0), TAKE_AWAY)
    (build,), _ = serve(recipe_text, script(*said))
    assert (build.gestures, build.corrections) == (3, 2)
    grain = build.truth.portions[0].net_g
    assert grain == pytest.approx(123.0, abs=9.0)
    assert grain != pytest.approx(123.0, abs=0.01)
    assert [d.kind for d in build.truth.disturbances] == [DisturbanceKind.TAKE_BACK]


def test_truth_agrees_with_the_load(recipe_text: str) -> None:
    said = (SET_DOWN, add(120.0), Guidance(Say.TAKE_BACK, "grain", 20.0), TAKE_AWAY)
    builds, _ = serve(recipe_text, script(*said, *said), CLEAN, builds=2)
    for build in builds:
        last = [rest for rest in build.truth.rests if rest.end_s <= build.truth.lifted_s][-1]
        assert last.load_g == pytest.approx(build.truth.tare_g + build.truth.net_g)
        assert build.truth.rests[-1].load_g == pytest.approx(0.0, abs=1e-6)
    assert builds[0].truth.lifted_s < builds[1].truth.placed_s


def test_a_screen_that_says_to_wait_is_waited_for(recipe_text: str) -> None:
    def show(board: Board) -> Guidance:
        if not board.load_g:
            return SET_DOWN
        if board.t < 15.0:
            return Guidance(Say.WAIT)
        return add(120.0) if board.load_g < 100.0 else TAKE_AWAY

    (build,), _ = serve(recipe_text, show)
    assert build.truth.lifted_s > 15.0
    assert build.waiting_s == pytest.approx(15.0 - build.truth.placed_s, abs=2.0)
    assert build.reading_s < 4.0


@pytest.mark.parametrize("say", [Say.WAIT, Say.SET_DOWN])
def test_a_screen_that_never_goes_on_is_given_up(recipe_text: str, say: Say) -> None:
    def show(board: Board) -> Guidance:
        return Guidance(say) if board.load_g else SET_DOWN

    (build,), _ = serve(recipe_text, show)
    assert build.gave_up
    assert build.truth.abandoned
    assert build.truth.lifted_s - build.truth.placed_s >= min(GIVES_UP_S, 5.0 * CONTRADICTIONS)


def test_a_screen_that_never_asks_for_a_bowl_is_given_up(recipe_text: str) -> None:
    (build,), _ = serve(recipe_text, lambda _board: TAKE_AWAY)
    assert build.gave_up == "stands before: take away"
    assert nets(build) == {}


def test_a_screen_that_takes_its_word_back_again_and_again_is_given_up(recipe_text: str) -> None:
    def show(board: Board) -> Guidance:
        if not board.load_g:
            return SET_DOWN
        looks.append(board.t)
        return add(40.0) if len(looks) % 2 else Guidance(Say.GO_ON, "sauce")

    looks: list[float] = []
    (build,), _ = serve(recipe_text, show)
    assert build.gave_up == "contradicts itself: add, then go on"
    assert build.contradictions == CONTRADICTIONS + 1


def test_a_screen_that_leads_in_circles_is_given_up(recipe_text: str) -> None:
    def show(board: Board) -> Guidance:
        if not board.load_g:
            return SET_DOWN
        return Guidance(Say.TAKE_BACK, "grain", 5.0) if board.load_g > 140.0 else add(20.0)

    (build,), _ = serve(recipe_text, show)
    assert build.gave_up == "goes round in circles"
    assert build.corrections == ROUNDS + 1


def test_a_screen_that_asks_for_keys_again_and_again_is_given_up(recipe_text: str) -> None:
    def show(board: Board) -> Guidance:
        return Guidance(Say.UNCLEAR, "grain") if board.load_g else SET_DOWN

    (build,), board = serve(recipe_text, show)
    assert build.gave_up == "asks for keys again and again"
    assert build.taps == len(board.taps) == ANSWERS + 1


def test_a_screen_that_has_not_seen_a_gesture_yet_is_given_time(recipe_text: str) -> None:
    last = [0.0, 0.0]

    def show(board: Board) -> Guidance:
        if board.load_g != last[1]:
            last[:] = [board.t, board.load_g]
        if not board.load_g:
            return SET_DOWN
        seen = board.load_g > 30.0 and board.t - last[0] > 1.0  # a second late
        return TAKE_AWAY if seen else add(120.0, 3)

    (build,), _ = serve(recipe_text, show)
    assert build.gestures == 1


def test_a_screen_that_asks_is_told_by_its_keys(recipe_text: str) -> None:
    def show(board: Board) -> Guidance:
        if not board.load_g:
            return SET_DOWN
        if board.load_g < 100.0:
            return add(120.0)
        steps = ("grain", "sauce")
        asked = len(board.taps)
        return Guidance(Say.UNCLEAR, steps[asked]) if asked < len(steps) else TAKE_AWAY

    (build,), board = serve(recipe_text, show)
    assert board.taps == [Tap.NEXT, Tap.UNDO]
    assert build.taps == 2
    assert not build.gave_up


def test_what_was_never_put_in_is_not_taken_out(recipe_text: str) -> None:
    def show(board: Board) -> Guidance:
        if not board.load_g:
            return SET_DOWN
        if board.load_g < 100.0:
            return add(120.0)
        return TAKE_AWAY if board.taps else Guidance(Say.TAKE_BACK, "sauce", 9.0)

    (build,), board = serve(recipe_text, show)
    assert board.taps == [Tap.UNDO]
    assert (build.contradictions, build.gestures, nets(build)) == (1, 1, {"grain": 120.0})


@pytest.mark.parametrize(
    "late", [Guidance(Say.UNCLEAR, "sauce"), Guidance(Say.TAKE_BACK, "sauce", 9.0)]
)
def test_over_a_bare_bowl_a_screen_means_the_build_before(
    recipe_text: str, late: Guidance
) -> None:
    def show(board: Board) -> Guidance:
        if not board.load_g:
            return SET_DOWN
        if not board.taps:
            return late
        return add(120.0) if board.load_g < 100.0 else TAKE_AWAY

    (build,), board = serve(recipe_text, show)
    assert board.taps == [Tap.NEXT]
    assert (build.gave_up, nets(build)) == ("", {"grain": 120.0})


def test_an_unclear_first_step_of_a_bare_bowl_was_not_begun(recipe_text: str) -> None:
    def show(board: Board) -> Guidance:
        if not board.load_g:
            return SET_DOWN
        if not board.taps:
            return Guidance(Say.UNCLEAR, "grain")
        return add(120.0) if board.load_g < 100.0 else TAKE_AWAY

    _, board = serve(recipe_text, show)
    assert board.taps == [Tap.UNDO]


def test_a_bare_bowl_is_set_down_anew_when_the_screen_takes_it_for_a_full_one(
    recipe_text: str,
) -> None:
    def show(board: Board) -> Guidance:
        if not board.load_g:
            return SET_DOWN
        return add(120.0) if board.lifts and board.load_g < 100.0 else TAKE_AWAY

    (build,), _ = serve(recipe_text, show)
    assert [d.kind for d in build.truth.disturbances] == [DisturbanceKind.LIFT]
    assert build.contradictions == 1
    assert (build.gave_up, nets(build)) == ("", {"grain": 120.0})


def test_a_cook_led_by_a_screen_keeps_his_habits(recipe_text: str) -> None:
    habits = replace(STEADY, presses=0.5, lifts=1.0, hands_over=1.0, tares=1.0)
    said = (SET_DOWN, add(120.0), Guidance(Say.GO_ON, "sauce"), TAKE_AWAY)

    def show(board: Board) -> Guidance:
        food_g = board.hands.load_g(board.t)
        place = 0 if food_g < 1.0 else 1 if food_g < 100.0 else 2 if food_g < 170.0 else 3
        return said[place]

    builds, _ = serve(recipe_text, show, habits, builds=4)
    kinds = {d.kind for build in builds for d in build.truth.disturbances}
    assert kinds == {DisturbanceKind.PRESS, DisturbanceKind.LIFT, DisturbanceKind.TARE_KEY}


def test_a_paused_cook_begins_nothing(recipe_text: str) -> None:
    board = Board(script(SET_DOWN, add(120.0), TAKE_AWAY))
    hands = board.hands = ObedientHands(
        Cook(read_recipe(recipe_text), STEADY, stream(3)), board, 1
    )
    hands.paused = True
    assert {hands.load_g(n / 10) for n in range(200)} == {0.0}
    hands.paused = False
    for n in range(200, 2000):
        board.load_g = hands.load_g(n / 10)
    assert hands.done
    assert hands.builds[0].truth.placed_s > 20.0


def test_same_seed_same_builds(recipe_text: str) -> None:
    said = (SET_DOWN, add(120.0), add(20.0), TAKE_AWAY)
    one, other = (serve(recipe_text, script(*said), CLEAN)[0] for _ in range(2))
    assert one == other
