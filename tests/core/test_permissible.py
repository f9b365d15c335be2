"""Published tolerance rows; where one is built from the published rule, the comment says so."""

from __future__ import annotations

import math

import pytest

from scaled.core.accuracy import AccuracyClass
from scaled.core.permissible import Permissible, Standard, interval_counts
from scaled.core.reading import GRAMS, Unit

OIML, HB44 = Standard.OIML_R76, Standard.NIST_HB44
LB = GRAMS[Unit.LB]


# OIML R 76-1:2006, Table 6, class III with e = 20 g, as calibration notes print it.
@pytest.mark.parametrize(("load_g", "limit_g"), [(10e3, 10.0), (30e3, 20.0), (150e3, 30.0)])
def test_a_new_scale_by_oiml(load_g: float, limit_g: float) -> None:
    assert Permissible(OIML, "III", 20.0, new=True).limit_g(load_g) == limit_g


# Built from OIML R 76-1:2006, Table 6: upper bounds are inclusive.
@pytest.mark.parametrize(
    ("load_g", "limit_g"), [(500, 0.5), (501, 1.0), (2_000, 1.0), (2_001, 1.5)]
)
def test_the_bands_of_oiml_end_inclusive(load_g: float, limit_g: float) -> None:
    assert Permissible(OIML, "III", 1.0, new=True).limit_g(load_g) == limit_g


# Built from OIML R 76-1:2006, 3.5.2: in service twice as much.
def test_a_scale_in_use_may_be_off_twice_as_much() -> None:
    assert Permissible(OIML, "III", 5.0).limit_g(3_000.0) == 10.0


# NIST Handbook 44, 2.20, Table 6, class III: maintenance, and acceptance as half (T.N.3.2).
@pytest.mark.parametrize(
    ("load_d", "maintenance_d"),
    [(0, 1), (500, 1), (501, 2), (2_000, 2), (2_001, 3), (4_000, 3), (4_001, 5), (10_000, 5)],
)
@pytest.mark.parametrize("d_g", [1.0, 5.0, 0.01 * LB])
def test_handbook_44(load_d: int, maintenance_d: float, d_g: float) -> None:
    in_use, new = (Permissible(HB44, "III", d_g, new) for new in (False, True))
    assert in_use.limit_g(load_d * d_g) == maintenance_d * d_g
    assert new.limit_g(-load_d * d_g) == maintenance_d * d_g / 2


# NIST Handbook 44, 2.20, a worked example: 500 lb by 0.05 lb, test load 150 lb.
def test_handbook_44_in_pounds() -> None:
    scale = Permissible(HB44, "III", 0.05 * LB)
    assert scale.limit_g(150 * LB) == pytest.approx(0.15 * LB, rel=1e-12)


# NIST Handbook 44, 2.20, Table 6: class III at acceptance.
@pytest.mark.parametrize(("load_d", "limit_d"), [(1_000, 1.0), (3_000, 1.5), (5_000, 2.5)])
def test_handbook_44_at_acceptance(load_d: int, limit_d: float) -> None:
    assert Permissible(HB44, "III", 1.0, new=True).limit_g(load_d) == limit_d


# Built from NIST Handbook 44, 2.20, Table 6: 5 000 g by 1 g, a portion of 113 g.
def test_handbook_44_at_a_portion() -> None:
    assert Permissible(HB44, "III", 1.0).limit_g(113.0) == 1.0
    assert Permissible(HB44, "III", 1.0, new=True).limit_g(113.0) == 0.5


# At 5 000 divisions: OIML R 76-1:2006, Table 6: 1.5 e; NIST Handbook 44, 2.20, Table 6: 2.5 d.
def test_the_two_tables_are_not_mixed() -> None:
    assert Permissible(OIML, "III", 1.0, new=True).limit_g(5_000) == 1.5
    assert Permissible(HB44, "III", 1.0, new=True).limit_g(5_000) == 2.5


def test_each_names_its_table() -> None:
    assert Permissible(OIML, "II", 1.0).table == (
        "OIML R 76-1:2006, Table 6, class II, in service (3.5.2)"
    )
    assert Permissible(OIML, "III", 1.0, new=True).table == (
        "OIML R 76-1:2006, Table 6, class III, initial verification"
    )
    assert Permissible(HB44, "III", 1.0).table == (
        "NIST Handbook 44, 2.20, Table 6, class III, maintenance"
    )
    assert Permissible(HB44, "III", 1.0, new=True).table == (
        "NIST Handbook 44, 2.20, Table 6, class III, acceptance (T.N.3.2)"
    )


# OIML R 76-1:2006, Table 3; in lb and oz NIST Handbook 44, 2.20, Table 3.
@pytest.mark.parametrize(
    ("accuracy_class", "e_g", "least", "most"),
    [
        ("I", 0.001, 50_000, math.inf),
        ("II", 0.001, 100, 100_000),
        ("II", 0.05, 100, 100_000),
        ("II", 0.1, 5_000, 100_000),
        ("III", 0.1, 100, 10_000),
        ("III", 2.0, 100, 10_000),
        ("III", 5.0, 500, 10_000),
        ("III", 0.0002 * LB, 100, 10_000),
        ("III", 0.005 * LB, 100, 10_000),
        ("III", 0.125 * GRAMS[Unit.OZ], 100, 10_000),
        ("III", 0.01 * LB, 500, 10_000),
        ("III", 0.25 * GRAMS[Unit.OZ], 500, 10_000),
        ("IIII", 5.0, 100, 1_000),
    ],
)
def test_how_many_intervals_a_class_may_have(
    accuracy_class: AccuracyClass, e_g: float, least: float, most: float
) -> None:
    assert interval_counts(accuracy_class, e_g) == (least, most)
