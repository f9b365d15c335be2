"""What may be said of a scale, and what cannot be true of one."""

from __future__ import annotations

import math

import pytest
from pydantic import ValidationError

from scaled.core.accuracy import ByClass
from scaled.core.scale import Scale


def scale(**keys: object) -> Scale:
    return Scale.model_validate(keys)


def said_wrong(**keys: object) -> str:
    with pytest.raises(ValidationError) as refused:
        scale(**keys)
    (error,) = refused.value.errors()
    return f"{error.get('ctx', {}).get('key')}: {error['msg']}"


def test_nothing_need_be_known() -> None:
    assert (scale().division_g, scale().accuracy) == (None, None)
    assert scale(division="1 g").accuracy is None


def test_a_class_and_its_interval() -> None:
    assert scale(**{"class": "III", "e": "1 g"}).accuracy == ByClass("III", 1.0)
    assert scale(**{"class": "II", "e": "1 g", "division": "0.1 g"}).accuracy == ByClass("II", 1.0)


def test_the_interval_is_the_division_unless_it_is_written() -> None:
    accuracy = scale(**{"class": "III", "division": "0.05 oz"}).accuracy
    assert accuracy is not None
    assert math.isclose(accuracy.e_g, 0.05 * 28.349523125)


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"e": "1 g"}, 'class: missing; e goes with one, such as class = "III"'),
        (
            {"class": "III"},
            "e: missing; a class goes with e or the division, as on the plate",
        ),
        # OIML R 76-1:2006, Table 3: class III from 0.1 g, class IIII from 5 g.
        (
            {"class": "III", "e": "0.01 g"},
            "e: class III has an e of 0.1 g or more, not 0.01 g; write both as they stand on the"
            " scale's plate",
        ),
        (
            {"class": "IIII", "division": "1 g"},
            "e: class IIII has an e of 5 g or more, not 1 g; write both as they stand on the"
            " scale's plate",
        ),
        (
            {"class": "III", "e": "1 g", "division": "2 g"},
            "e: finer than the division; write both as on the scale's plate",
        ),
    ],
)
def test_what_no_plate_says_is_refused(keys: dict[str, str], said: str) -> None:
    assert said_wrong(**keys) == said


def test_the_smallest_step_of_class_three_in_pounds() -> None:
    # NIST Handbook 44, 2.20, Table 3: class III from 0.0002 lb, which is 0.09 g.
    assert scale(**{"class": "III", "e": "0.0002 lb"}).accuracy is not None
