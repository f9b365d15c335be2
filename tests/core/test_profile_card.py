"""A profile as a card to read and print."""

from __future__ import annotations

import pytest

from scaled.catalogue import find_profile, load_profile, profile_ids
from scaled.core.profile import parse_profile
from scaled.core.profile_card import profile_card


def card(dish: str, *changes: tuple[str, str]) -> str:
    text = find_profile(dish).text
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return "\n".join(profile_card(parse_profile(text, "card.toml")))


@pytest.mark.parametrize("dish", profile_ids())
def test_a_card_fits_80_columns_and_tells_every_step(dish: str) -> None:
    profile, lines = load_profile(dish), profile_card(load_profile(dish))
    assert max(map(len, lines)) <= 80
    text = " ".join(" ".join(lines).split())
    for step in profile.steps:
        assert step.say is not None
        assert step.say in text
        assert f"Caution: {step.never}" in text
    assert all(" ".join(confirm.ask.split()) in text for confirm in profile.confirms)
    assert "your local food code and your trainer decide" in text


def test_the_total_runs_from_the_container_to_the_last_step() -> None:
    totals = [
        line.split()[-2]
        for line in card("winter-barley-bowl").partition("\n\n")[2].splitlines()
        if line.endswith(" g") and "Finished" not in line
    ]
    assert totals == ["18", "136", "186", "264", "294", "312", "352", "360"]


def test_a_step_reads_like_this() -> None:
    assert """
hot line:
  1  pearl barley, steamed                118 g        109 to 127 g        136 g
     3 level scoops, disher 16
     Fluff, scoop, level on the pan's edge, spread over the base.
     Caution: Do not press it down; do not reach over the open well.
""" in card("winter-barley-bowl")


def test_ounces_stand_above_their_grams() -> None:
    assert """
  2  white bean and sesame spread        0.9 oz         0.8 to 1 oz       3.4 oz
     1 level scoop, disher 40            25.5 g      22.7 to 28.3 g       96.4 g
""" in card("millstone-flatbread")


@pytest.mark.parametrize(
    ("dish", "line"),
    [
        ("winter-barley-bowl", "Allergens: gluten (barley), milk (herb-yogurt)"),
        ("winter-barley-bowl", "paper bowl, 750 mL: tare 18 g +/- 2 g, brimful 750 mL"),
        ("winter-barley-bowl", "or stoneware bowl, dine-in: tare 520 g +/- 20 g"),
        ("winter-barley-bowl", "not paper bowl, 1 L: tare 26 g +/- 2 g"),
        ("winter-barley-bowl", "     1 level spoodle, 59 mL (2 fl oz)"),
        ("winter-barley-bowl", " [ ] takeaway: Lid closed all round, label on"),
        (
            "orchard-oat-pot",
            "Finished: 453 g of food, passes 431 to 475 g; with the container 477 g",
        ),
    ],
)
def test_a_card_says(dish: str, line: str) -> None:
    assert line in card(dish).splitlines()


@pytest.mark.parametrize(
    ("old", "new", "line"),
    [
        ('{ kind = "fingers" }', '{ kind = "packet", count = 2 }', "     2 packets"),
        ('tool = { kind = "fingers" }', "scoops = 2", "     2 scoops"),
        ("tool = {", "scoops = 2\ntool = {", "     by hand, 2 times"),
    ],
)
def test_a_tool_is_told_in_words(old: str, new: str, line: str) -> None:
    start = 'id = "red-cabbage"\ningredient = "red cabbage, raw, shredded"\ntarget = "18 g"\n'
    rest = 'under = "4 g"\nover = "4 g"\ntool = { kind = "fingers" }'
    text = card("winter-barley-bowl", (start + rest, start + rest.replace(old, new)))
    assert line in text.splitlines()


def test_an_unwritten_finished_weight_is_said_to_be_the_sum() -> None:
    written = (
        '[finished]\nweight = "342 g"\nunder = "15 g"\nover = "15 g"\nincludes_container = false'
    )
    text = " ".join(card("winter-barley-bowl", (written, "")).split())
    assert "342 g of food (not written: the portions' sum), passes 327.4 to 356.6 g" in text


def test_a_title_too_long_for_its_line_is_wrapped() -> None:
    lines = card("winter-barley-bowl", ('title = "', 'title = "' + "very " * 20)).splitlines()
    assert max(map(len, lines)) <= 80
    assert lines[0].startswith("very very")


def test_a_bare_profile_makes_a_bare_card() -> None:
    text = (
        'schema = 1\nid = "bare"\ntitle = "Bare"\nrevision = "1"\n'
        '[container]\nname = "bowl"\ntare = "18 g"\n'
        '[[step]]\nid = "barley"\ningredient = "barley"\ntarget = "118 g"\n'
    )
    assert profile_card(parse_profile(text, "bare.toml"))[1:9] == [
        "bowl: tare 18 g",
        "",
        "                                         target              passes   on the pan",
        "     container                                                              18 g",
        "",
        "  1  barley                               118 g    106.2 to 129.8 g        136 g",
        "     1 scoop",
        "",
    ]


def test_guarded_acceptance_is_said_on_the_card() -> None:
    guarded = card("winter-barley-bowl", ("revision = ", 'acceptance = "guarded"\nrevision = '))
    said = "Guarded: a weight passes when it is inside its band by twice its standard"
    assert said in guarded.splitlines()
    assert "Guarded" not in card("winter-barley-bowl")
