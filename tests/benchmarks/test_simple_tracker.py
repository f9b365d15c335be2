from __future__ import annotations

from math import inf
from typing import Any

from scaled.core.events import BuildStarted, Event, Lifted, Portion, Returned, Verdict
from scaled.core.profile import parse_profile
from tests.benchmarks.rests import Told
from tests.benchmarks.simple_tracker import SimpleTracker

PROFILE = parse_profile(
    """
schema = 1
id = "test-bowl"
title = "Test bowl"
revision = "1"
container = { name = "bowl", tare = "20 g" }
step = [
    { id = "grain", ingredient = "grain", target = "100 g", under = "10 g", over = "10 g" },
    { id = "sauce", ingredient = "sauce", target = "50 g", under = "5 g", over = "5 g" },
    { id = "seeds", ingredient = "seeds", target = "10 g", under = "3 g", over = "3 g" },
]
""",
    "test",
)


def follow(*levels_g: float) -> list[Event]:
    told = [Told(float(t), inf, level_g, level_g) for t, level_g in enumerate(levels_g)]
    return list(SimpleTracker(PROFILE, 1.0).rests(told))


def said(events: list[Event]) -> list[tuple[Any, ...]]:
    return [
        (e.build, e.step, e.net_g, e.verdict, e.skipped) for e in events if isinstance(e, Portion)
    ]


def test_steps_fill_one_after_another_scoop_by_scoop() -> None:
    events = follow(0, 20, 60, 121, 170, 182, 0)
    assert [type(e) for e in events[:1]] == [BuildStarted]
    assert said(events) == [
        (1, "grain", 101, Verdict.PASS, False),
        (1, "sauce", 49, Verdict.PASS, False),
        (1, "seeds", 12, Verdict.PASS, False),
    ]


def test_what_is_taken_back_leaves_the_open_step() -> None:
    assert said(follow(0, 20, 140, 120, 170))[0] == (1, "grain", 100, Verdict.PASS, False)


def test_a_couple_of_divisions_are_no_change() -> None:
    assert said(follow(0, 20, 120, 122, 119, 170))[0] == (1, "grain", 100, Verdict.PASS, False)


def test_it_never_says_unsure_of_what_is_left_out() -> None:
    assert said(follow(0, 20, 120, 0, 20, 121, 0))[1:4] == [
        (1, "sauce", 0, Verdict.UNDER, True),
        (1, "seeds", 0, Verdict.UNDER, True),
        (2, "grain", 101, Verdict.PASS, False),
    ]


def test_what_comes_back_as_heavy_as_it_left_is_the_same_bowl() -> None:
    events = follow(0, 20, 120, 0, 122, 171, 181, 0)
    assert [type(e) for e in events if isinstance(e, Lifted | Returned)] == [
        Lifted,
        Returned,
        Lifted,
    ]
    assert [words[:4] for words in said(events)] == [
        (1, "grain", 100, Verdict.PASS),
        (1, "sauce", 51, Verdict.PASS),
        (1, "seeds", 10, Verdict.PASS),
    ]


def test_the_tare_key_looks_like_an_empty_pan_to_it() -> None:
    assert [e.build for e in follow(0, 20, 120, 0, 50, 0) if isinstance(e, BuildStarted)] == [1, 2]
