from __future__ import annotations

from collections import Counter
from dataclasses import replace
from decimal import Decimal

import pytest

from simulators.chance import stream
from simulators.display import Shown
from simulators.habits import CLEAN
from simulators.line_faults import LineFaults
from simulators.truth import DisturbanceKind

READINGS = [Shown(t=n / 10, weight=Decimal("123.5"), unit="g") for n in range(4000)]


def test_a_good_line_carries_all() -> None:
    line = LineFaults(CLEAN, stream(1))
    assert [got for shown in READINGS for got in line.carry(shown)] == READINGS
    assert line.log == []


def test_a_poor_line_does_as_often_as_asked_and_tells() -> None:
    line = LineFaults(replace(CLEAN, dropped=0.1, duplicated=0.05, garbled=0.02), stream(1))
    arrived = {shown.t: line.carry(shown) for shown in READINGS}
    kinds = Counter(fault.kind for fault in line.log)
    assert kinds[DisturbanceKind.DROPPED] == pytest.approx(400, rel=0.15)
    assert kinds[DisturbanceKind.DUPLICATED] == pytest.approx(200, rel=0.2)
    assert kinds[DisturbanceKind.GARBLED] == pytest.approx(80, rel=0.3)
    faulty = {fault.start_s: fault.kind for fault in line.log}
    for shown in READINGS:
        expected = {
            None: [shown],
            DisturbanceKind.DROPPED: [],
            DisturbanceKind.DUPLICATED: [shown, shown],
        }
        if (kind := faulty.get(shown.t)) is not DisturbanceKind.GARBLED:
            assert arrived[shown.t] == expected[kind]


def test_a_garbled_reading_has_one_other_digit_in_the_same_places() -> None:
    line = LineFaults(replace(CLEAN, garbled=1.0), stream(2))
    for weight in map(Decimal, ("0", "-0.05", "123.5", "12.00")):
        for _ in range(50):
            (got,) = line.carry(Shown(t=0.0, weight=weight, unit="g"))
            old, new = str(weight), str(got.weight).zfill(len(str(weight)))
            assert len(old) == len(new)
            assert sum(a != b for a, b in zip(old, new, strict=True)) == 1
