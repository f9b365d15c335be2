"""A build on its way is JSON that reads back as it was, and nothing else is taken for one."""

from __future__ import annotations

import json
import math
from dataclasses import asdict
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core.coming import Coming
from scaled.core.events import Portion
from scaled.core.plan import Plan
from scaled.core.transit import MOST_COURSES, Course, Transit
from scaled.core.transit_json import parse_transit
from tests.core.scripted import STEPS, dish

PLAN = Plan.of(dish())

grams = st.floats(-1000, 5000).map(lambda g: round(g, 3) + 0.0)
doubts = st.floats(0, 50).map(lambda u: round(u, 3) + 0.0)
courses = st.builds(
    Course,
    chance=st.floats(0.01, 1.0),
    container_g=grams,
    container_u_g=doubts,
    closed=st.just(()),
    open=st.sampled_from([(step,) for step in STEPS]),
    open_from_g=grams,
    open_from_u_g=doubts,
    gestures=st.integers(0, 20),
    gross_g=grams,
    gross_u_g=doubts,
)
words = st.builds(
    Portion, t=grams, build=st.just(1), step=st.sampled_from(STEPS), net_g=st.none() | grams,
    u_g=st.none() | doubts, confidence=st.floats(0, 1), joint_with=st.just(()),
    u_scale_g=st.none() | doubts,
)  # fmt: skip
transits = st.builds(
    Transit,
    session=st.text(max_size=20),
    build=st.integers(1, 999),
    profile=st.just("test-bowl"),
    revision=st.text(max_size=5),
    elapsed_s=doubts,
    courses=st.lists(courses, min_size=1, max_size=MOST_COURSES).map(tuple),
    said=st.lists(words, max_size=4).map(tuple),
    answered=st.just(("lid",)),
)


@given(transit=transits)
def test_what_is_passed_on_as_json_is_what_was_passed_on(transit: Transit) -> None:
    assert parse_transit(json.loads(json.dumps(asdict(transit)))) == transit


@given(transit=transits)
def test_the_ways_it_may_have_gone_add_up_to_one(transit: Transit) -> None:
    coming = Coming.of(transit, PLAN, 100.0)
    assert math.fsum(chance for chance, _ in coming.courses) == pytest.approx(1.0)
    for _, belief in coming.courses:
        assert sorted((*belief.group, *belief.ahead)) == list(range(len(STEPS)))
    assert coming.started_s == 100.0 - transit.elapsed_s


def test_two_builds_are_two_whatever_is_in_them() -> None:
    transit = parse_transit(PLAIN)
    assert Coming.of(transit, PLAN, 0.0) != Coming.of(transit, PLAN, 0.0)


PLAIN: dict[str, Any] = {
    "session": "s", "build": 1, "profile": "test-bowl", "revision": "1", "elapsed_s": 1.0,
    "courses": [
        {
            "chance": 1.0, "container_g": 20.0, "container_u_g": 0.3, "weighed": True,
            "closed": [{"steps": ["grain"], "net_g": 120.0, "u_g": 0.4, "clear": True}],
            "open": ["beans"], "open_from_g": 140.0, "open_from_u_g": 0.3, "gestures": 0,
            "clear": True, "strange": False, "gross_g": 140.0, "gross_u_g": 0.3,
        }
    ],
}  # fmt: skip


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("build", "one"),
        ("elapsed_s", -1.0),
        ("elapsed_s", math.inf),
        ("courses", []),
        ("courses", PLAIN["courses"] * (MOST_COURSES + 1)),
        ("courses", [PLAIN["courses"][0] | {"gross_g": math.nan}]),
        ("courses", [PLAIN["courses"][0] | {"gross_g": 1e9}]),
        ("courses", [PLAIN["courses"][0] | {"chance": 0.0}]),
        ("courses", [PLAIN["courses"][0] | {"gross_u_g": -0.1}]),
        ("courses", [PLAIN["courses"][0] | {"open": []}]),
        ("courses", [PLAIN["courses"][0] | {"open": ["a", "b", "c", "d"]}]),
        ("courses", [PLAIN["courses"][0] | {"more": 1}]),
        ("profile", None),
        ("said", [{"step": "grain"}]),
        ("more", 1),
    ],
)
def test_what_is_out_of_range_is_no_build(key: str, value: object) -> None:
    parse_transit(PLAIN)
    with pytest.raises(ValueError, match="validation error"):
        parse_transit(PLAIN | {key: value})
