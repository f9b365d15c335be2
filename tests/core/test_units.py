"""Quantities as people write them, against published equivalents."""

from __future__ import annotations

import copy
import re
from decimal import Decimal

import pint  # noqa: TID251 -- the independent converter
import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core.reading import GRAMS, Unit
from scaled.core.tool import STANDARD_DISHERS, disher_ml
from scaled.core.units import (
    DENSITY,
    QUART_ML,
    VOLUME,
    WEIGHT,
    QuantityError,
    parse_density,
    parse_volume,
    parse_weight,
)

CUP_ML = 236.5882365  # NIST Handbook 44, Appendix C
TBSP_ML = CUP_ML / 16
TSP_ML = TBSP_ML / 3


@pytest.mark.parametrize(
    ("text", "grams"),
    [
        # NIST Handbook 44, Appendix C: exact avoirdupois equivalents
        ("1 lb", 453.59237),
        ("1 oz", 28.349523125),
        ("16 oz", 453.59237),
        ("1 kg", 1000.0),
        ("128g", 128.0),
        (".5 oz", 14.1747615625),
        ("  2.50 LB ", 1133.980925),
    ],
)
def test_weights_are_exact(text: str, grams: float) -> None:
    assert parse_weight(text) == grams


@pytest.mark.parametrize(
    ("text", "millilitres"),
    [
        # NIST Handbook 44, Appendix C: exact US liquid measure
        ("1 qt", 946.352946),
        ("1 pt", 473.176473),
        ("1 cup", CUP_ML),
        ("1 fl oz", 29.5735295625),
        ("2 Fl. Oz", 59.147059125),
        ("1 tbsp", 14.78676478125),
        ("1 tsp", 4.92892159375),
        ("0.75 L", 750.0),
        ("60 mL", 60.0),
    ],
)
def test_volumes_are_exact(text: str, millilitres: float) -> None:
    assert parse_volume(text) == millilitres


def test_densities_take_any_weight_over_any_volume() -> None:
    # USDA Nutrient Database, household measures: cooked white rice, 158 g a cup, is 0.668 g/mL
    assert parse_density("158 g/cup") == pytest.approx(0.668, abs=5e-4)
    assert parse_density("158 g / Cup") == parse_density("158 g/cup")
    assert parse_density("0.72 g/mL") == 0.72


def test_pint_agrees_on_the_units_of_scales() -> None:
    registry: pint.UnitRegistry[float] = pint.UnitRegistry()
    for unit, grams in GRAMS.items():
        assert registry.Quantity(1.0, unit.value).to("gram").magnitude == pytest.approx(grams)


def test_a_quart_is_its_number_of_dishers() -> None:
    assert QUART_ML == 946.352946  # NIST Handbook 44, Appendix C
    assert 8 * disher_ml(8) == pytest.approx(QUART_ML)


# USDA / Institute of Child Nutrition, Basics at a Glance: the level measure printed for each
# disher, rounded to kitchen fractions (the widest, number 20, by 4 %; 7 % is allowed).
PRINTED_ML = {
    6: 2 / 3 * CUP_ML,
    8: 1 / 2 * CUP_ML,
    10: 3 / 8 * CUP_ML,
    12: 1 / 3 * CUP_ML,
    16: 1 / 4 * CUP_ML,
    20: (3 + 1 / 3) * TBSP_ML,
    24: (2 + 2 / 3) * TBSP_ML,
    30: 2 * TBSP_ML,
    40: (1 + 2 / 3) * TBSP_ML,
    50: (3 + 3 / 4) * TSP_ML,
    60: (3 + 1 / 4) * TSP_ML,
    70: (2 + 3 / 4) * TSP_ML,
    100: 2 * TSP_ML,
}


@pytest.mark.parametrize("number", STANDARD_DISHERS)
def test_dishers_hold_what_the_trade_table_prints(number: int) -> None:
    assert disher_ml(number) == pytest.approx(PRINTED_ML[number], rel=0.07)


def test_a_weight_remembers_how_it_was_written() -> None:
    weight = parse_weight("4.50 oz")
    assert weight.unit is Unit.OZ
    assert weight.digit_g == pytest.approx(0.01 * GRAMS[Unit.OZ])
    again = copy.deepcopy(weight)
    assert (again, again.unit, again.digit_g) == (weight, weight.unit, weight.digit_g)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("128", '"128" has no unit; write a weight such as "128 g"'),
        ("128 mL", '"128 mL" is not a weight; write one such as "128 g"'),
        ("", '"" is not a weight; write one such as "128 g"'),
        ("4,5 oz", '"4,5 oz" is not a weight; write one such as "128 g"'),
        ("1e3 g", '"1e3 g" is not a weight; write one such as "128 g"'),
        ("3 florins", '"3 florins": unknown unit "florins"; write a weight in g, kg, oz or lb'),
        ("9" * 10 + " g", '"9999999999 g" is not a weight; write one such as "128 g"'),
        ("1\n g\x1b[31m", r'"1\n g\x1b[31m" is not a weight; write one such as "128 g"'),
    ],
)
def test_what_is_no_weight_says_why(text: str, line: str) -> None:
    with pytest.raises(QuantityError) as caught:
        parse_weight(text)
    assert str(caught.value) == line


def test_a_tools_ounces_are_fluid() -> None:
    with pytest.raises(
        QuantityError, match=r'^"2 oz" is not a volume; write one such as "2 fl oz"$'
    ):
        parse_volume("2 oz")


@given(st.text() | st.from_regex(r"[-+]?[0-9.]{0,12} ?[A-Za-z./ ]{0,12}", fullmatch=True))
def test_any_text_is_a_weight_or_says_why_on_one_line(text: str) -> None:
    assert said_of(text).isprintable()


def said_of(text: str) -> str:
    try:
        return f"{parse_weight(text):.3f}"
    except QuantityError as err:
        return str(err)


@given(
    st.decimals(min_value=0, max_value=999_999, places=3),
    st.sampled_from(Unit),
)
def test_numbers_come_back_as_written(number: Decimal, unit: Unit) -> None:
    weight = parse_weight(f"{number} {unit.value}")
    assert weight == pytest.approx(float(number) * GRAMS[unit])
    assert weight.unit is unit


@given(st.from_regex(WEIGHT.pattern))
def test_the_schemas_weights_are_read(text: str) -> None:
    assert parse_weight(text) >= 0


@given(st.from_regex(VOLUME.pattern))
def test_the_schemas_volumes_are_read(text: str) -> None:
    assert parse_volume(text) >= 0


@given(st.from_regex(DENSITY.pattern))
def test_the_schemas_densities_are_read(text: str) -> None:
    assert parse_density(text) >= 0


@pytest.mark.parametrize("text", ["50 mL", "50", "-50 g", "50 g/mL", "50 florins"])
def test_the_schema_refuses_what_is_no_weight(text: str) -> None:
    assert not re.search(WEIGHT.pattern, text)
