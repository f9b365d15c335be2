"""Weights, choices and quotes as people read them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core.reading import GRAMS, Unit
from scaled.core.units import parse_weight
from scaled.core.wording import choices, quoted, round_up, spell, spell_both


@pytest.mark.parametrize(
    ("grams", "unit", "text"),
    [
        (128.0, Unit.G, "128 g"),
        (128.04, Unit.G, "128 g"),
        (-0.01, Unit.G, "0 g"),
        (13.75 * 28.349523125, Unit.OZ, "13.75 oz"),
        (1250.0, Unit.KG, "1.25 kg"),
        (113.3980925, Unit.LB, "0.25 lb"),
    ],
)
def test_weights_are_spelled_without_idle_digits(grams: float, unit: Unit, text: str) -> None:
    assert spell(grams, unit) == text


def test_grams_stand_beside_another_unit() -> None:
    assert spell_both(15.5922, Unit.OZ) == "0.55 oz (15.6 g)"
    assert spell_both(15.5922, Unit.G) == "15.6 g"


@given(st.floats(min_value=0.001, max_value=10_000), st.sampled_from(Unit))
def test_rounded_up_is_enough_and_spelled_exactly(grams: float, unit: Unit) -> None:
    enough_g = round_up(grams, unit)
    assert enough_g >= grams - 1e-6
    assert parse_weight(spell(enough_g, unit)) == pytest.approx(enough_g, rel=1e-9)
    assert enough_g - grams <= 0.3 + 1e-6 or unit in {Unit.KG, Unit.LB}
    assert spell(enough_g, unit) == spell(enough_g + GRAMS[unit] * 1e-9, unit)


def test_choices_read_as_a_phrase() -> None:
    assert choices(["a"]) == "a"
    assert choices(["a", "b", "c"]) == "a, b or c"


@given(st.text())
def test_quotes_stay_on_one_short_line(text: str) -> None:
    assert quoted(text).isprintable()
    assert quoted(text[:10]).startswith('"')
