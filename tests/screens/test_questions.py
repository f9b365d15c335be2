"""What the cook's screen asks: badge, dish and checks, by key, touch and scanner."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from textual.widgets import Button, Input

from scaled.screens.bench_screen import BenchScreen
from scaled.screens.dialogs.badge import BadgeDialog, badge_code
from scaled.screens.dialogs.check import Answer, CheckDialog
from scaled.screens.wire import Away
from tests.screens.benched import benched
from tests.screens.eventually import eventually
from tests.screens.scenes import BOWL, scene
from tests.screens.stage import staged, text


async def test_a_badge_is_typed_or_scanned_whole(tmp_path: Path) -> None:
    async with benched(tmp_path) as bench:
        await bench.pilot.press("b")
        await bench.sees("such as C-014")
        await bench.pilot.press(*"C-022", "enter")
        await bench.asked({"command": "badge", "badge": "C-022"})
        await bench.sees("add 36 g")


async def test_a_badge_is_touched(tmp_path: Path) -> None:
    async with benched(tmp_path) as bench:
        await bench.pilot.press("b")
        await bench.sees("erase")
        buttons = {str(button.label): button for button in bench.app.screen.query(Button)}
        for label in ("C-", "3", "4", "erase", "7", "OK"):
            await bench.pilot.click(buttons[label])
        await bench.asked({"command": "badge", "badge": "C-37"})


@pytest.mark.parametrize(
    ("typed", "code"),
    [
        ("C-014", "C-014"),
        ("t-105", "T-105"),
        (" c014 ", "C-014"),
        ("qa7", "QA-7"),
        # Whose letters these digits go with, nobody can tell.
        ("014", "014"),
        ("C-C-014", "C-C-014"),
        ("014C", "014C"),
    ],
)
def test_a_badge_code_is_written_out_and_never_made_up(typed: str, code: str) -> None:
    assert badge_code(typed) == code


async def test_a_refused_badge_stays_to_be_put_right_or_scanned_again(tmp_path: Path) -> None:
    async with benched(tmp_path) as bench:
        bench.station.refusal = 'badge: "C014X" is no badge code; write one such as C-014'
        await bench.pilot.press("b")
        await bench.sees("erase")
        await bench.pilot.press(*"c014x", "enter")
        await bench.sees(bench.station.refusal)
        assert bench.app.screen.query_one(Input).value == "c014x"
        bench.station.refusal = None
        await bench.pilot.press("right", "backspace", "enter")
        await eventually(lambda: not isinstance(bench.app.screen, BadgeDialog))
        bench.station.refusal = "badge: not now"
        await bench.pilot.press("b")
        await bench.sees("erase")
        await bench.pilot.press(*"c15", "enter")
        await bench.sees("badge: not now")
        await bench.pilot.press(*"T-105", "enter")
        sent = ("C014X", "C-014", "C-15", "T-105")
        asked: list[dict[str, object]] = [{"command": "badge", "badge": code} for code in sent]
        await bench.asked(*asked)


async def test_a_badge_of_nothing_is_not_sent(tmp_path: Path) -> None:
    async with benched(tmp_path) as bench:
        await bench.pilot.press("b")
        await bench.sees("erase")
        await bench.pilot.press("enter", *"c7", "enter")
        await bench.asked({"command": "badge", "badge": "C-7"})


@pytest.mark.parametrize("keys", [["1"], ["up", "enter"]])
async def test_a_dish_is_chosen_by_number_or_by_arrows(tmp_path: Path, keys: list[str]) -> None:
    async with benched(tmp_path) as bench:
        await bench.pilot.press("p")
        await bench.sees("2  Winter barley bowl, revision 3  (now)")
        await bench.pilot.press(*keys)
        await bench.asked({"command": "profile", "profile": "orchard-oat-pot"})


async def test_checks_are_asked_one_after_the_other(tmp_path: Path) -> None:
    async with benched(tmp_path, "lift") as bench:
        await bench.pilot.press("c")
        await bench.sees("Build 4: check 1 of 4")
        await bench.pilot.press("y")
        await bench.sees("Build 4: check 2 of 4")
        await bench.pilot.press("x")
        await bench.sees("Build 4: check 3 of 4")
        await bench.sees("Lid closed all round, label on (takeaway)")
        await bench.sees("answered: no: Wells and cold tubs")
        await bench.pilot.press("tab")
        await bench.sees("Build 4: check 4 of 4")
        await bench.sees("Rim wiped, bowl set on a cool plate (dine-in)")
        await bench.pilot.click("#yes")
        await bench.asked(
            {"command": "confirm", "confirm": "allergens", "held": True},
            {"command": "confirm", "confirm": "holding", "held": False},
            {"command": "confirm", "confirm": "rim", "held": True},
        )
        # The "no" is what somebody has to act on.
        await bench.sees("! answered: no: Wells and cold tubs")


async def test_a_check_that_held_is_said_to_be_answered(tmp_path: Path) -> None:
    async with benched(tmp_path, "lift") as bench:
        await bench.pilot.press("c", "right", "right", "right")
        await bench.sees("check 4 of 4")
        await bench.pilot.press("y")
        await bench.sees("! answered: yes: Rim wiped, bowl set on a cool plate (dine-in)")


async def test_a_refused_answer_is_said_over_the_next_check(tmp_path: Path) -> None:
    async with benched(tmp_path, "lift") as bench:
        bench.station.refusal = "confirm: not now"
        await bench.pilot.press("c", "y")
        await bench.sees("check 2 of 4")
        await bench.sees("confirm: not now")
        await bench.pilot.press("escape")
        await bench.sees("! confirm: not now")


async def test_no_key_of_the_screen_or_of_a_foot_switch_answers_a_check(tmp_path: Path) -> None:
    async with benched(tmp_path, "lift") as bench:
        await bench.pilot.press("c")
        await bench.sees("check 1 of 4")
        # Pressing a button without letting go over it must not leave it to the foot switch.
        await bench.pilot.mouse_down("#yes")
        await bench.pilot.mouse_up("Label")
        await bench.pilot.press(
            *("n", "space", "enter", "pagedown", "u", "backspace", "pageup", "c", "b", "p", "q")
        )
        assert bench.says("check 1 of 4")
        await bench.pilot.press("shift+tab", "enter", "space")
        assert bench.says("check 1 of 4")
        assert bench.station.commands == []


@pytest.mark.parametrize("leave", ["escape", "#leave"])
async def test_escape_leaves_all_checks_at_once(tmp_path: Path, leave: str) -> None:
    async with benched(tmp_path, "lift") as bench:
        await bench.pilot.press("c")
        await bench.sees("check 1 of 4")
        await (bench.pilot.click if leave == "#leave" else bench.pilot.press)(leave)
        await bench.sees("scale live")
        # What follows is for the screen: next, and no "no".
        await bench.pilot.press("n")
        await bench.asked({"command": "next"})


async def test_a_key_pressed_twice_closes_nothing_below_the_question(tmp_path: Path) -> None:
    async with benched(tmp_path, "lift") as bench:
        await bench.pilot.press("c")
        await bench.sees("check 1 of 4")
        check = bench.app.screen
        assert isinstance(check, CheckDialog)
        check.action_leave()
        check.action_leave()
        await bench.sees("scale live")


OTHERS = {
    "next bowl": lambda said: replace(said, live=replace(said.live, build=5)),
    "next session": lambda said: replace(said, session=replace(said.session, session="s-2")),
}


@pytest.mark.parametrize("other", OTHERS)
async def test_a_check_closes_when_its_build_is_not_the_live_one(
    tmp_path: Path, other: str
) -> None:
    async with benched(tmp_path, "lift") as bench:
        await bench.pilot.press("c")
        await bench.sees("Build 4: check 1 of 4")
        bench.station.show(OTHERS[other](bench.station.state))
        await bench.sees("! the checks of build 4 are closed: it is not the live one now")
        await bench.pilot.press("y", "x")
        assert bench.station.commands == []


async def test_a_check_closes_when_the_station_goes_away() -> None:
    async with staged(scene("lift"), (80, 24)) as pilot:
        await pilot.press("c")
        await eventually(lambda: "check 1 of 4" in text(pilot))
        bench = pilot.app.screen_stack[0]
        assert isinstance(bench, BenchScreen)
        bench.take(Away("gone"))
        await eventually(lambda: "the checks of build 4 are closed" in text(pilot))


async def test_an_answer_faster_than_the_look_is_not_for_the_next_build() -> None:
    said: list[Answer | None] = []
    stands = iter([False])
    check = CheckDialog(
        BOWL.profile.confirms[0], "Build 4", said="", stands=lambda: next(stands, True)
    )
    async with staged(scene("lift"), (80, 24)) as pilot:
        await pilot.app.push_screen(check, said.append)
        check.action_answer("YES")
        await eventually(lambda: said)
    assert said == [None]


@pytest.mark.parametrize("name", ["no-session", "place"])
async def test_without_a_build_there_are_no_checks(tmp_path: Path, name: str) -> None:
    async with benched(tmp_path, name) as bench:
        await bench.pilot.press("c")
        await bench.sees("! no checks to answer now")


@pytest.mark.parametrize(("key", "title"), [("b", "Badge code"), ("p", "Dish:")])
async def test_a_question_can_be_left(tmp_path: Path, key: str, title: str) -> None:
    async with benched(tmp_path) as bench:
        await bench.pilot.press(key)
        await bench.sees(title)
        await bench.pilot.press("escape")
        await bench.sees("add 36 g")
        assert bench.station.commands == []
