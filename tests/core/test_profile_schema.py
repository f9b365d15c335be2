"""The contract as JSON Schema, judged by an independent validator."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from scaled.core.profile_schema import profile_schema

GOOD = """
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
tool = { kind = "disher", number = 16 }
[[step]]
id = "sauce"
ingredient = "sauce"
target = "1 OZ"
tool = { kind = "ladle", volume = "1 fl oz" }
density = "1.03 g/mL"
[[other_container]]
name = "dine-in bowl"
tare = "310 g"
accepted = true
"""


@pytest.fixture(scope="module")
def validator() -> Draft202012Validator:
    schema = profile_schema()
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


def test_a_good_profile_validates(validator: Draft202012Validator) -> None:
    validator.validate(tomllib.loads(GOOD))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('target = "120 g"', 'taget = "120 g"'),
        ('target = "120 g"', ""),
        ('"120 g"', "120"),
        ('"120 g"', '"120"'),
        ('"120 g"', '"120 mL"'),
        ('"120 g"', '"-120 g"'),
        ('"1 fl oz"', '"1 oz"'),
        ('"ladle"', '"fingers"'),
        ('"disher"', '"dishr"'),
        ("number = 16", "number = 0"),
        ("schema = 1", "schema = 2"),
        ("accepted = true", 'accepted = "yes"'),
        ("accepted = true", "accept = true"),
        ('id = "test-bowl"', 'id = "Test bowl"'),
    ],
)
def test_a_wrong_profile_does_not(validator: Draft202012Validator, old: str, new: str) -> None:
    assert old in GOOD
    assert not validator.is_valid(tomllib.loads(GOOD.replace(old, new, 1)))


def test_editors_are_told_what_each_key_means() -> None:
    undescribed = [
        f"{table}.{key}"
        for table, model in profile_schema()["$defs"].items()
        for key, field in model["properties"].items()
        if "description" not in field and key != "kind"
    ]
    assert undescribed == []


def test_no_key_may_be_null_since_toml_has_none() -> None:
    assert "null" not in types_in(profile_schema())


def types_in(schema: Any) -> set[str]:  # noqa: ANN401 -- JSON
    if isinstance(schema, dict):
        own = {schema["type"]} if isinstance(schema.get("type"), str) else set()
        return own.union(*map(types_in, schema.values()))
    return set().union(*map(types_in, schema)) if isinstance(schema, list) else set()
