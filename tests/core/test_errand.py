"""What each scale of a line is told follows from what all of them say, and is told once."""

from __future__ import annotations

from dataclasses import dataclass, replace

from scaled.core.command import Collect, Expect, Forget
from scaled.core.errand import Scale, errands
from scaled.core.transit import Transit
from scaled.core.transit_json import parse_transit
from tests.core.test_transit import PLAIN

BUILD = parse_transit(PLAIN | {"session": "hot", "build": 3})
DISH = ("test-bowl", "1")


@dataclass
class Said:
    """What a session says."""

    leaving: tuple[Transit, ...] = ()
    expected: frozenset[str] = frozenset()
    taken: tuple[str, ...] = ()


def told(**line: Said) -> list[tuple[str, Expect | Forget | Collect]]:
    return list(errands([Scale(name, DISH, said) for name, said in line.items()]))


HOT = Said(leaving=(BUILD,))


def test_a_build_that_left_is_expected_on_every_other_scale_of_its_dish() -> None:
    assert told(hot=HOT, cold=Said(), last=Said()) == [
        ("cold", Expect(BUILD)), ("last", Expect(BUILD)),
    ]  # fmt: skip
    other = Scale("cold", ("test-bowl", "2"), Said())
    assert list(errands([Scale("hot", DISH, HOT), other])) == []


def test_who_knows_already_is_told_nothing() -> None:
    waiting = Said(expected=frozenset({BUILD.id}))
    assert told(hot=HOT, cold=waiting) == []


def test_one_that_is_taken_is_collected_and_no_longer_expected() -> None:
    waiting = Said(expected=frozenset({BUILD.id}))
    assert told(hot=HOT, cold=Said(taken=(BUILD.id,)), last=waiting) == [
        ("hot", Collect(3)), ("last", Forget(BUILD.id)),
    ]  # fmt: skip
    assert told(hot=Said(), cold=Said(taken=(BUILD.id,)), last=Said()) == []


def test_one_that_came_back_is_no_longer_expected() -> None:
    assert told(hot=Said(), cold=Said(expected=frozenset({BUILD.id}))) == [
        ("cold", Forget(BUILD.id))
    ]


def test_one_whose_session_is_over_may_still_come() -> None:
    assert told(next=Said(), cold=Said(expected=frozenset({BUILD.id}))) == []


def test_its_own_build_is_not_made_known_to_a_scale() -> None:
    gone_on = Said(leaving=(BUILD,), expected=frozenset({BUILD.id}))
    assert told(hot=gone_on) == []
    second = replace(BUILD, build=4)
    assert told(hot=replace(gone_on, leaving=(BUILD, second)), cold=Said()) == [
        ("cold", Expect(BUILD)), ("cold", Expect(second)),
    ]  # fmt: skip
