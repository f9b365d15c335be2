from __future__ import annotations

from typing import Any

import pytest

from scaled.core.profile import Step
from scaled.screens.portioning import count_of, short_name, to_go, tool_line


def step(tool: dict[str, Any] | None = None, scoops: int = 1, **others: str) -> Step:
    keys = {"id": "peas", "ingredient": "peas", "target": "120 g", **others}
    return Step.model_validate({**keys, "scoops": scoops, **({"tool": tool} if tool else {})})


DISHER = {"kind": "disher", "number": 20, "fill": "level"}


@pytest.mark.parametrize(
    ("made", "line"),
    [
        (step(DISHER, 3), "disher no. 20, level: three scoops"),
        (step({"kind": "spoodle", "volume": "2 fl oz"}), "2 fl oz spoodle, level: one spoonful"),
        (step({"kind": "ladle", "volume": "60 mL"}), "60 mL ladle, level: one ladle"),
        (step({"kind": "cup", "volume": "0.5 cup"}), "4 fl oz cup, level: one cup"),
        (step({"kind": "cup", "volume": "1 tbsp"}), "1 tbsp cup, level: one cup"),
        (step({"kind": "fingers"}), "by hand"),
        (step({"kind": "fingers"}, 2), "by hand: two handfuls"),
        (step({"kind": "fingers"}, target="4 g"), "by hand: one pinch"),
        (step({"kind": "packet", "count": 2}), "two packets"),
        (step(scoops=2), "in two goes"),
        (step(), ""),
    ],
)
def test_the_tool_is_said_as_cooks_say_it(made: Step, line: str) -> None:
    assert tool_line(made) == line


@pytest.mark.parametrize(
    ("net_g", "amount_g", "scoops", "words"),
    [
        (0, 120, 3, "three scoops"),
        (2, 118, 3, "three scoops"),
        (41, 79, 2, "two more scoops"),
        (80, 40, 1, "one more scoop"),
        (88, 32, 1, "one more scoop"),
        (98, 22, 1, "about half a scoop more"),
        (106, 14, 1, "about a third of a scoop more"),
        (115, 5, 1, "just a little more"),
    ],
)
def test_what_is_missing_is_said_in_scoops(
    net_g: float, amount_g: float, scoops: int, words: str
) -> None:
    assert to_go(step(DISHER, 3), net_g, amount_g, scoops) == words


def test_what_the_hand_takes_has_no_thirds() -> None:
    leaves = step({"kind": "fingers"})
    assert to_go(leaves, 0, 120, 1) == ""
    assert to_go(leaves, 90, 30, 1) == "a little more"
    assert to_go(leaves, 110, 10, 1) == "just a little more"
    assert to_go(step({"kind": "fingers"}, 2), 0, 120, 2) == "two handfuls"


def test_packets_are_counted_in_packets() -> None:
    packets = step({"kind": "packet", "count": 4})
    assert to_go(packets, 0, 120, 1) == "four packets"
    assert to_go(packets, 91, 29, 1) == "one more packet"


def test_a_step_without_gestures_is_said_in_weight_only() -> None:
    assert to_go(step(), 10, 110, 1) == ""


@pytest.mark.parametrize(
    ("ingredient", "name", "short"),
    [
        ("peas, steamed", "peas", "peas"),
        ("white cheese in brine, crumbled", "white-cheese", "white cheese"),
        ("white cheese in brine, crumbled", "s3", "white cheese in brine"),
    ],
)
def test_long_ingredients_are_called_by_their_id(ingredient: str, name: str, short: str) -> None:
    assert short_name(step(ingredient=ingredient, id=name)) == short


def test_counts_beyond_nine_are_digits() -> None:
    assert count_of(12, "scoop") == "12 scoops"
    assert count_of(2, "pinch") == "two pinches"
