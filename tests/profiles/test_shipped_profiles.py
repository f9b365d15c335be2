"""The shipped dishes: sound, different in kind, and true to their schema."""

from __future__ import annotations

import json
import tomllib
from importlib.resources import files

import pytest
from jsonschema import Draft202012Validator

from scaled.catalogue import find_profile, load_profile, profile_ids
from scaled.core.profile_check import check_profile
from scaled.core.profile_schema import profile_schema
from scaled.core.reading import Unit

SHIPPED = {"millstone-flatbread": 0.5, "orchard-oat-pot": 2.0, "winter-barley-bowl": 1.0}
"""Each dish with the coarsest division it is meant for, g."""


def committed_schema() -> object:
    return json.loads((files("profiles") / "build-profile.schema.json").read_text("utf-8"))


def test_the_shipped_dishes_are_these() -> None:
    assert profile_ids() == sorted(SHIPPED)


def test_the_committed_schema_is_the_programs() -> None:
    assert committed_schema() == profile_schema(), (
        "run: scaled profile schema > profiles/build-profile.schema.json"
    )


@pytest.mark.parametrize("dish", SHIPPED)
def test_each_dish_validates_against_the_committed_schema(dish: str) -> None:
    schema = committed_schema()
    assert isinstance(schema, dict)
    Draft202012Validator(schema).validate(tomllib.loads(find_profile(dish).text))


@pytest.mark.parametrize(("dish", "coarsest_g"), SHIPPED.items())
def test_each_dish_passes_its_check_without_a_remark(dish: str, coarsest_g: float) -> None:
    for division_g in (0.1, coarsest_g):
        assert [str(finding) for finding in check_profile(load_profile(dish), division_g)] == []


@pytest.mark.parametrize("dish", SHIPPED)
def test_each_dish_says_that_it_is_invented_and_who_decides(dish: str) -> None:
    text = find_profile(dish).text
    assert "# invented demo data" in text
    assert "food code and trainer" in text


@pytest.mark.parametrize("dish", SHIPPED)
def test_each_dish_asks_about_allergens_and_about_both_ways_of_serving(dish: str) -> None:
    profile = load_profile(dish)
    assert {confirm.when for confirm in profile.confirms} == {"always", "takeaway", "dine-in"}
    assert any("llergen" in confirm.ask for confirm in profile.confirms)
    assert any(step.allergens for step in profile.steps)
    assert all(step.say and step.never for step in profile.steps)


def test_the_dishes_differ_in_kind() -> None:
    bread, pot, bowl = (load_profile(dish) for dish in SHIPPED)
    assert {step.target_g.unit for step in bread.steps} == {Unit.OZ}
    assert min(step.target_g for step in bread.steps) < 6
    assert len(pot.steps) == 3
    assert min(step.target_g for step in pot.steps) > 90
    assert [step.position for step in bowl.steps] == ["hot line"] * 4 + ["cold line"] * 3
