"""Short pauses lie within an ingredient, long ones before the next."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from scaled.core.pause import same_pause_odds


@given(st.floats(0, 100), st.floats(0, 100))
def test_the_longer_the_pause_the_less_it_is_the_same_ingredient(a: float, b: float) -> None:
    short, long = sorted((a, b))
    assert same_pause_odds(short) >= same_pause_odds(long) > 0
    assert same_pause_odds(short) < 20  # a pause alone proves nothing
    assert same_pause_odds(long) > 1 / 20


def test_a_short_pause_speaks_for_the_same_ingredient_and_a_long_one_against() -> None:
    assert same_pause_odds(0.4) > 1 > same_pause_odds(8.0)
