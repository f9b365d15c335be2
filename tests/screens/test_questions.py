"""What the cook's screen asks: badge, dish and checks, by key, touch and scanner."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Button

from tests.screens.benched import benched


async def test_a_badge_is_typed_with_its_letters_given(tmp_path: Path) -> None:
    async with benched(tmp_path) as bench:
        await bench.pilot.press("b")
        await bench.sees("C-")
        await bench.pilot.press("0", "2", "2", "enter")
        await bench.asked({"command": "badge", "badge": "C-022"})
        await bench.sees("add 36 g")


async def test_a_badge_is_touched(tmp_path: Path) -> None:
    async with benched(tmp_path) as bench:
        await bench.pilot.press("b")
        await bench.sees("erase")
        buttons = {str(button.label): button for button in bench.app.screen.query(Button)}
        for label in ("3", "4", "erase", "7", "OK"):
            await bench.pilot.click(buttons[label])
        await bench.asked({"command": "badge", "badge": "C-37"})


async def test_a_scanner_may_send_a_whole_badge_in_small_letters(tmp_path: Path) -> None:
    async with benched(tmp_path) as bench:
        await bench.pilot.press("b")
        await bench.sees("erase")
        await bench.pilot.press("ctrl+u", *"t-105", "enter")
        await bench.asked({"command": "badge", "badge": "T-105"})


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
        await bench.sees("Check 1 of 4")
        # A foot switch is no answer to a question of food safety.
        await bench.pilot.press("space", "enter", "y")
        await bench.sees("Check 2 of 4")
        await bench.pilot.press("n")
        await bench.sees("Check 3 of 4")
        await bench.sees("Lid closed all round, label on (takeaway)")
        await bench.pilot.press("escape")
        await bench.sees("Check 4 of 4")
        await bench.sees("Rim wiped, bowl set on a cool plate (dine-in)")
        await bench.pilot.click("#yes")
        await bench.asked(
            {"command": "confirm", "confirm": "allergens", "held": True},
            {"command": "confirm", "confirm": "holding", "held": False},
            {"command": "confirm", "confirm": "rim", "held": True},
        )


async def test_without_checks_the_key_says_so(tmp_path: Path) -> None:
    async with benched(tmp_path, "no-session") as bench:
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
