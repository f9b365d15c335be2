"""Reading a profile: what it means, and what its author is told when it is wrong."""

from __future__ import annotations

import math

import pytest

from scaled.core.errors import ProfileError
from scaled.core.profile import BuildProfile, parse_profile
from scaled.core.reading import GRAMS, Unit

PLAIN = """
schema = 1
id = "test-bowl"
title = "Test bowl"
revision = "1"

[container]
name = "bowl"
tare = "18 g"

[[step]]
id = "barley"
ingredient = "barley"
target = "120 g"
under = "9 g"
over = "6 g"
scoops = 3
tool = { kind = "disher", number = 16, fill = "level" }
density = "0.66 g/mL"
allergens = ["gluten"]

[[step]]
id = "sauce"
ingredient = "sauce"
target = "1 oz"
tool = { kind = "ladle", volume = "1 fl oz" }

[finished]
weight = "150 g"

[[confirm]]
id = "lid"
ask = "Lid on"
when = "takeaway"
"""


def plain(*changes: tuple[str, str]) -> BuildProfile:
    text = PLAIN
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    return parse_profile(text, "bowl.toml")


def test_weights_become_grams_whatever_their_unit() -> None:
    profile = plain()
    assert [step.target_g for step in profile.steps] == [120.0, 28.349523125]
    assert [step.target_g.unit for step in profile.steps] == [Unit.G, Unit.OZ]
    assert profile.portions_g == pytest.approx(120 + GRAMS[Unit.OZ])


def test_a_tolerance_not_written_is_a_tenth_of_the_target() -> None:
    barley, sauce = plain().steps
    assert (barley.under_g, barley.over_g) == (9, 6)
    assert sauce.under_g == sauce.over_g == pytest.approx(2.8349523125)


def test_a_finished_tolerance_not_written_is_the_steps_in_quadrature() -> None:
    profile = plain()
    assert profile.finished_under_g == pytest.approx(math.sqrt(9**2 + 2.8349523125**2))
    assert profile.finished_over_g == pytest.approx(math.sqrt(6**2 + 2.8349523125**2))


def test_a_written_finished_tolerance_stands() -> None:
    profile = plain(('weight = "150 g"', 'weight = "150 g"\nunder = "3 g"\nover = "0 g"'))
    assert (profile.finished_under_g, profile.finished_over_g) == (3, 0)


def test_the_finished_weight_is_food_alone() -> None:
    assert plain().finished_net_g == 150
    counted_in = 'weight = "168 g"\nincludes_container = true'
    assert plain(('weight = "150 g"', counted_in)).finished_net_g == 150
    unwritten = plain(('[finished]\nweight = "150 g"', ""))
    assert unwritten.finished_net_g == unwritten.portions_g


def test_a_profile_cannot_change() -> None:
    with pytest.raises(ValueError, match="frozen"):
        plain().title = "Other"  # type: ignore[misc]


TOOLS = '"disher", "spoodle", "ladle", "cup", "fingers" or "packet"'
KEYS = (
    "schema, id, title, revision, acceptance, container, other_container, step, finished or"
    " confirm"
)


@pytest.mark.parametrize(
    ("old", "new", "line"),
    [
        # unknown keys
        ("target", "taget", 'step 1 (barley), taget: unknown key; did you mean "target"?'),
        ("number", "numbr", 'step 1 (barley), tool, numbr: unknown key; did you mean "number"?'),
        ("[container]", "[containr]", 'containr: unknown key; did you mean "container"?'),
        ("schema", "x = 1\nschema", f"x: unknown key; remove it or use {KEYS}"),
        ("schema", '"\\u001b[2J" = 1\nschema', rf"\x1b[2J: unknown key; remove it or use {KEYS}"),
        # weights
        (
            '"120 g"',
            '"128"',
            'step 1 (barley), target: "128" has no unit; write a weight such as "128 g"',
        ),
        (
            '"120 g"',
            "120",
            "step 1 (barley), target: a weight goes in quotes with its unit;"
            ' write a weight such as "128 g"',
        ),
        (
            '"120 g"',
            '"120 mL"',
            'step 1 (barley), target: "120 mL" is not a weight; write one such as "128 g"',
        ),
        (
            '"120 g"',
            '"-120 g"',
            'step 1 (barley), target: "-120 g" is below zero; write a weight such as "128 g"',
        ),
        (
            '"120 g"',
            '"0 g"',
            'step 1 (barley), target: "0 g" must be more than zero;'
            ' write a weight such as "128 g"',
        ),
        (
            '"18 g"',
            '"18 florins"',
            'container, tare: "18 florins": unknown unit "florins";'
            " write a weight in g, kg, oz or lb",
        ),
        (
            '"1 fl oz"',
            '"1 oz"',
            'step 2 (sauce), tool, volume: "1 oz" is not a volume; write one such as "1 fl oz"',
        ),
        (
            '"0.66 g/mL"',
            '"0.66 g"',
            'step 1 (barley), density: "0.66 g" is not a density; write one such as "0.72 g/mL"',
        ),
        ('"9 g"', '"121 g"', "step 1 (barley), under: larger than the target; make it smaller"),
        (
            'weight = "150 g"',
            'weight = "150 g"\nunder = "151 g"',
            "finished, under: larger than the weight; make it smaller",
        ),
        (
            'weight = "150 g"',
            'weight = "17 g"\nincludes_container = true',
            "finished, weight: the container alone is heavier; correct one",
        ),
        # ids
        (
            'id = "sauce"',
            'id = "barley"',
            "step 2 (barley), id: step 1 has this id too; give each its own",
        ),
        (
            "[[confirm]]",
            '[[confirm]]\nid = "lid"\nask = "Lid?"\n[[confirm]]',
            "confirm 2 (lid), id: confirm 1 has this id too; give each its own",
        ),
        (
            'id = "test-bowl"',
            'id = "Test bowl"',
            'id: "Test bowl": use lower-case letters, digits and single hyphens',
        ),
        # other containers
        (
            "[[confirm]]",
            '[[other_container]]\nname = "tray"\ntare = "9 g"\naccept = true\n[[confirm]]',
            'other_container 1 (tray), accept: unknown key; did you mean "accepted"?',
        ),
        (
            "[[confirm]]",
            '[[other_container]]\nname = "tray"\n[[confirm]]',
            'other_container 1 (tray), tare: missing; add tare = "310 g"',
        ),
        (
            "[[confirm]]",
            '[[other_container]]\nname = "tray"\ntare = "9 g"\naccepted = "yes"\n[[confirm]]',
            'other_container 1 (tray), accepted: "yes" is not true or false;'
            " write accepted = true",
        ),
        (
            "[[confirm]]",
            '[[other_container]]\nname = "bowl"\ntare = "9 g"\n[[confirm]]',
            "other_container 1 (bowl), name: another container has this name too;"
            " give each its own",
        ),
        (
            "[container]",
            "other_container = 3\n[container]",
            "other_container: 3 is not a list; write [[other_container]] tables",
        ),
        # missing
        ('target = "120 g"', "", 'step 1 (barley), target: missing; add target = "128 g"'),
        ("schema = 1", "", "schema: missing; add schema = 1"),
        ("number = 16, ", "", "step 1 (barley), tool, number: missing; add number = 20"),
        # kinds and choices
        (
            '"ladle"',
            '"ladel"',
            'step 2 (sauce), tool: kind "ladel" is not known; did you mean "ladle"?'
            f" (write {TOOLS})",
        ),
        (
            'kind = "ladle", ',
            "",
            f"step 2 (sauce), tool: kind is missing; write kind = {TOOLS}",
        ),
        (
            '{ kind = "ladle", volume = "1 fl oz" }',
            '"ladle"',
            'step 2 (sauce), tool: "ladle" is not a table;'
            ' write tool = { kind = "disher", number = 20 }',
        ),
        (
            '"takeaway"',
            '"takeway"',
            'confirm 1 (lid), when: "takeway" is not known; did you mean "takeaway"?'
            ' (write "always", "takeaway" or "dine-in")',
        ),
        (
            '"level"',
            "3",
            'step 1 (barley), tool, fill: 3 is not known; write "level" or "rounded"',
        ),
        ("schema = 1", "schema = 2", "schema: 2 is not known; write 1"),
        # types
        (
            "scoops = 3",
            'scoops = "3"',
            'step 1 (barley), scoops: "3" is not a whole number; write scoops = 3',
        ),
        (
            "scoops = 3",
            "scoops = 2.5",
            "step 1 (barley), scoops: 2.5 is not a whole number; write scoops = 3",
        ),
        (
            "scoops = 3",
            "scoops = 0",
            "step 1 (barley), scoops: 0 is out of range; write a number of more than 0",
        ),
        (
            "number = 16",
            "number = 201",
            "step 1 (barley), tool, number: 201 is out of range; write a number of at most 200",
        ),
        (
            "scoops = 3",
            "scoops = 0x" + "f" * 5000,
            "step 1 (barley), scoops: a number this long is out of range;"
            " write a number of at most 50",
        ),
        (
            'revision = "1"',
            "revision = 1",
            'revision: 1 is not text in quotes; write revision = "3"',
        ),
        ('revision = "1"', 'revision = ""', 'revision: empty; write revision = "3"'),
        (
            'revision = "1"',
            f'revision = "{"1" * 201}"',
            "revision: too long; keep to 200 at most",
        ),
        (
            "Test bowl",
            "Test\\u001b[2J",
            r'title: "Test\x1b[2J": keep it on one line, without control characters',
        ),
        (
            '["gluten"]',
            '"gluten"',
            'step 1 (barley), allergens: "gluten" is not a list; write allergens = ["gluten"]',
        ),
        (
            '["gluten"]',
            "[true]",
            "step 1 (barley), allergens 1: true is not text in quotes;"
            ' write allergens = ["gluten"]',
        ),
        (
            'weight = "150 g"',
            'weight = "150 g"\nincludes_container = "no"',
            'finished, includes_container: "no" is not true or false;'
            " write includes_container = false",
        ),
        (
            "[finished]",
            "[[finished]]",
            "finished: a list is not a table; write a [finished] table",
        ),
        # beyond what a reader of TOML can take
        (
            "[container]",
            "x = " + "[" * 5000,
            "not readable: nested too deep, or a number too long",
        ),
        (
            "[container]",
            "x = " + "9" * 5000,
            "not readable: nested too deep, or a number too long",
        ),
    ],
)
def test_a_wrong_profile_is_one_line(old: str, new: str, line: str) -> None:
    with pytest.raises(ProfileError) as caught:
        plain((old, new))
    assert str(caught.value) == f"bowl.toml: {line}"


@pytest.mark.parametrize(
    ("old", "new", "line"),
    [
        ("[container]", "[container", 7),
        ("[[step]]", "[step]", 22),
        ('id = "test-bowl"', 'id = "test-bowl', 3),
    ],
)
def test_what_is_not_toml_is_told_with_its_line(old: str, new: str, line: int) -> None:
    # Column and reason are the TOML reader's own words.
    with pytest.raises(
        ProfileError, match=rf"^bowl\.toml: line {line}, column \d+: not TOML: [^\n]+$"
    ):
        plain((old, new))


def test_an_unknown_key_is_told_before_the_missing_one() -> None:
    with pytest.raises(ProfileError) as caught:
        plain(("title", "titel"), ("tare", "taer"))
    assert str(caught.value) in {
        'bowl.toml: titel: unknown key; did you mean "title"?',
        'bowl.toml: container, taer: unknown key; did you mean "tare"?',
    }


@pytest.mark.parametrize("steps", ["", "step = []"])
def test_a_profile_needs_steps(steps: str) -> None:
    head = 'schema = 1\nid = "x"\ntitle = "x"\nrevision = "1"\n'
    container = '[container]\nname = "bowl"\ntare = "18 g"\n'
    with pytest.raises(ProfileError, match=r"^x.toml: step: .*\[\[step\]\] tables, at least one$"):
        parse_profile(f"{head}{steps}\n{container}", "x.toml")


@pytest.mark.parametrize("text", ["container = 1", "step = 1", "step = [1]", "confirm = [[]]"])
def test_a_value_in_place_of_a_table_is_told(text: str) -> None:
    with pytest.raises(ProfileError, match=r"^x.toml: schema: missing; add schema = 1$"):
        parse_profile(text, "x.toml")


def test_an_entry_that_is_no_table_is_named_by_its_place() -> None:
    with pytest.raises(ProfileError) as caught:
        plain(("[container]", "confirm = [1]\n[container]"), ("[[confirm]]", "[other]"))
    assert str(caught.value).startswith("bowl.toml: other: unknown key")
