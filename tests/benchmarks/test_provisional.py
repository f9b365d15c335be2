"""How rough words are counted."""

from __future__ import annotations

import pytest

from scaled.core.reading import Reading
from tests.benchmarks.provisional import Rough, rough_words, roughly
from tests.benchmarks.rests import TrueRest
from tests.benchmarks.rows import beyond_2u

REST = TrueRest(3.0, 3.4, 6.0, 100.0, 100.0, 1.0, plain=True)


def word(at_s: float, level_g: float, *, settled: bool = False) -> Rough:
    return Rough(at_s, level_g, 0.5, settled)


def test_a_rough_word_counts_from_when_all_that_follow_are_near() -> None:
    words = [word(2.9, 100.0), word(3.1, 99.0), word(3.3, 96.0), word(3.5, 99.5)]
    words += [word(3.9, 100.0, settled=True), word(6.1, 50.0)]
    figures = roughly(words, [REST])
    assert figures.delays_s == [pytest.approx(0.1)]
    assert figures.errors_u == [2.0, 8.0, 1.0]  # of those in the rest before it was settled


def test_a_rest_of_which_nothing_near_was_said_has_no_delay() -> None:
    assert roughly([word(3.5, 90.0)], [REST]).delays_s == []
    assert roughly([], [REST]).delays_s == []


def test_every_reading_of_a_rest_is_a_word() -> None:
    readings = [Reading(0.1 * i, 20.0) for i in range(20)]
    said = list(rough_words(readings, 1.0))
    assert [w.settled for w in said] == [False] * 2 + [True] * 16
    assert {w.level_g for w in said} == {20.0}
    assert all(w.u_g > 0 for w in said)


def test_beyond_two_uncertainties_is_per_cent() -> None:
    assert beyond_2u([0.0, -2.1, 2.0, 3.0]) == 50.0
