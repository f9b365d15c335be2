"""The scale's own share of a portion's uncertainty, against the tables that bound it."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core.accuracy import LEAST_E_G, AccuracyClass, ByClass, ByVerification


# OIML R 76-1:2006, Table 6: the limits of each class, upper bounds inclusive, loads and errors
# in verification scale intervals e.
@pytest.mark.parametrize(
    ("accuracy_class", "load_e", "permissible_e"),
    [
        ("I", 50_000, 0.5),
        ("I", 50_001, 1.0),
        ("I", 200_000, 1.0),
        ("I", 200_001, 1.5),
        ("II", 5_000, 0.5),
        ("II", 5_001, 1.0),
        ("II", 20_000, 1.0),
        ("II", 20_001, 1.5),
        ("II", 100_000, 1.5),
        ("III", 0, 0.5),
        ("III", 500, 0.5),
        ("III", 501, 1.0),
        ("III", 2_000, 1.0),
        ("III", 2_001, 1.5),
        ("III", 10_000, 1.5),
        ("IIII", 50, 0.5),
        ("IIII", 51, 1.0),
        ("IIII", 200, 1.0),
        ("IIII", 201, 1.5),
        ("IIII", 1_000, 1.5),
    ],
)
@pytest.mark.parametrize("e_g", [1.0, 5.0, 0.1, 0.05 * 28.349523125])
def test_the_limits_are_those_of_oiml_r_76(
    accuracy_class: AccuracyClass, load_e: int, permissible_e: float, e_g: float
) -> None:
    scale = ByClass(accuracy_class, e_g)
    assert scale.permissible_g(load_e * e_g) == permissible_e * e_g
    assert scale.permissible_g(-load_e * e_g) == permissible_e * e_g  # taken off again


# Worked values of the same table for a class III scale, as calibration notes print them.
@pytest.mark.parametrize(
    ("e_g", "load_g", "permissible_g"),
    [(20.0, 10_000.0, 10.0), (20.0, 30_000.0, 20.0), (20.0, 150_000.0, 30.0)],
)
def test_worked_limits_of_class_three(e_g: float, load_g: float, permissible_g: float) -> None:
    assert ByClass("III", e_g).permissible_g(load_g) == permissible_g


def test_5000_divisions_are_limited_as_by_oiml_and_not_as_by_handbook_44() -> None:
    # OIML R 76-1, Table 6: 1.5 e. NIST Handbook 44, 2.20, Table 6: 2.5 d at acceptance.
    assert ByClass("III", 1.0).permissible_g(5_000.0) == 1.5


@pytest.mark.parametrize(
    ("scale", "net_g", "u_g"),
    [
        # Twice the table in service (OIML R 76-1:2006, 3.5.2), rectangular: a/sqrt(3), printed
        # 0.577 a (JCGM 100:2008, 4.3.7).
        (ByClass("III", 1.0), 118.0, 0.57735),
        (ByClass("III", 1.0), 500.0, 0.57735),
        (ByClass("III", 1.0), 501.0, 1.15470),
        (ByClass("III", 5.0), 3_000.0, 5.77350),
        (ByClass("II", 0.1), 118.0, 0.057735),
    ],
)
def test_a_class_bounds_a_portion_as_a_scale_in_service(
    scale: ByClass, net_g: float, u_g: float
) -> None:
    assert math.isclose(scale.portion_u_g(net_g), u_g, rel_tol=1e-5)


def test_a_verified_error_grows_with_the_portion_and_its_uncertainty_does_not() -> None:
    scale = ByVerification(load_g=500.0, error_g=3.0, error_u_g=0.4)
    assert math.isclose(scale.portion_u_g(500.0), math.hypot(3.0, 0.4))
    assert math.isclose(scale.portion_u_g(100.0), math.hypot(0.6, 0.4))
    assert scale.portion_u_g(0.0) == 0.4
    assert ByVerification(500.0, -3.0, 0.4).portion_u_g(100.0) == scale.portion_u_g(100.0)


scales = st.one_of(
    st.builds(ByClass, st.sampled_from(sorted(LEAST_E_G)), st.floats(0.001, 10)),
    st.builds(ByVerification, st.floats(1, 10_000), st.floats(-10, 10), st.floats(0.001, 10)),
)


@given(scales, st.floats(0, 1e5), st.floats(1, 10))
def test_a_heavier_portion_is_never_known_better(
    scale: ByClass | ByVerification, net_g: float, times: float
) -> None:
    assert 0.0 < scale.portion_u_g(net_g) <= scale.portion_u_g(net_g * times) * (1 + 1e-12)


def test_it_says_where_it_comes_from() -> None:
    assert ByClass("III", 1.0).source(118.0) == (
        "accuracy class III with e = 1 g: within 1 g in service"
        " (OIML R 76-1:2006, Table 6 and 3.5.2)"
    )
    assert ByVerification(500.0, -0.3, 0.12).source(118.0) == (
        "last verification: off by -0.3 g at 500 g, itself known to 0.12 g"
    )
