"""Damaged frames are dropped and counted, and cost nothing but themselves.

``python -m tests.benchmarks.mutations`` prints how many became what.
"""

from __future__ import annotations

from functools import cache

import pytest

from tests.drivers.capturing import names
from tests.drivers.mutation import Outcome, run

CHECKED = ("enquiry-bcc", "implied-decimals", "status-bits")
"""Formats with a checksum: an exclusive or, or a sum, sees all but swapped bytes."""


@cache
def outcome(name: str) -> Outcome:
    return run(name)


@pytest.mark.parametrize("name", names())
def test_damage_costs_the_damaged_frame_and_at_most_the_next(name: str) -> None:
    assert outcome(name).lost_after == 0


@pytest.mark.parametrize("name", [name for name in names() if name != "hid-weighing"])
def test_what_is_not_read_is_counted(name: str) -> None:
    assert outcome(name).uncounted == 0
    assert outcome(name).dropped > 0


@pytest.mark.parametrize("name", CHECKED)
def test_a_checksum_lets_nothing_through_but_swapped_bytes(name: str) -> None:
    assert set(outcome(name).changed) <= {"bytes swapped"}


def test_a_fixed_width_lets_no_lost_or_doubled_byte_through() -> None:
    changed = outcome("ascii-stream").changed + outcome("stx-fixed").changed
    assert not changed.keys() & {"byte lost", "byte doubled", "cut short", "begun late"}


def test_enough_is_tried() -> None:
    assert sum(outcome(name).cases for name in names()) > 39_000
