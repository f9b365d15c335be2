from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from simulators.display import Division, DivisionError

DIVISIONS = st.sampled_from(
    ["0.1 g", "0.5 g", "1g", "2 g", "5g", "0.001 kg", "0.05 oz", "0.005lb"]
)


@given(DIVISIONS, st.floats(-200, 20_000))
def test_shows_the_nearest_whole_division(text: str, weight_g: float) -> None:
    division = Division.parse(text)
    shown = division.round(weight_g)
    assert shown % division.size == 0
    grams = float(shown) / float(division.size) * division.size_g
    assert abs(grams - weight_g) <= division.size_g / 2 * (1 + 1e-9)


@pytest.mark.parametrize(
    ("text", "weight_g", "shown"),
    [
        ("1 g", 0.5, "1"),
        ("1 g", -0.5, "0"),
        ("1 g", -0.51, "-1"),
        ("0.5 g", 123.6, "123.5"),
        ("0.1 g", 0.04, "0.0"),
        ("0.05 oz", 28.349523125, "1.00"),
        ("0.001 kg", 1500.4, "1.500"),
    ],
)
def test_shows_as_many_decimals_as_the_division(text: str, weight_g: float, shown: str) -> None:
    assert str(Division.parse(text).round(weight_g)) == shown


@pytest.mark.parametrize(
    ("text", "unit", "size"),
    [
        ("1 g", "oz", "0.05"),  # 1 g = 0.0353 oz
        ("2 g", "oz", "0.1"),
        ("0.1 g", "oz", "0.005"),
        ("1 g", "kg", "0.001"),
        ("0.05 oz", "g", "2"),  # 1.42 g
        ("1 g", "lb", "0.005"),  # 0.0022 lb
        ("5 g", "g", "5"),
    ],
)
def test_other_units_get_the_next_coarser_round_division(text: str, unit: str, size: str) -> None:
    assert Division.parse(text).to(unit) == Division(Decimal(size), unit)


@pytest.mark.parametrize("text", ["", "1", "0 g", "-1 g", "1 ml", "1,5 g", "g", "1e3 g"])
def test_refuses_what_is_no_division(text: str) -> None:
    with pytest.raises(DivisionError, match="is not a division"):
        Division.parse(text)
