"""A portion's uncertainty budget, against the guide that defines it."""

from __future__ import annotations

import math

import numpy as np
import pytest

from scaled.core.accuracy import Accuracy, ByClass, ByVerification
from scaled.core.budget import (
    RESOLUTION_SHARE,
    Budget,
    Contribution,
    portion_budget,
    two_readings_u_g,
)


# JCGM 100:2008 (GUM), F.2.2.1: u = d/(2 sqrt 3), printed 0.29 d.
@pytest.mark.parametrize(
    ("division_g", "u_g"), [(1.0, 0.288675), (0.1, 0.0288675), (5.0, 1.443376)]
)
def test_a_rounded_reading_is_as_uncertain_as_the_gum_says(division_g: float, u_g: float) -> None:
    assert math.isclose(RESOLUTION_SHARE * division_g, u_g, rel_tol=2e-6)


# JCGM 100:2008 (GUM), F.2.2.1, twice: the net of two rounded readings has d/sqrt(6).
@pytest.mark.parametrize(
    ("division_g", "u_g"), [(1.0, 0.408248), (0.1, 0.0408248), (5.0, 2.041241)]
)
def test_two_rounded_readings(division_g: float, u_g: float) -> None:
    budget = portion_budget(118.0, division_g, None)
    assert [part.name for part in budget.contributions] == ["division"]
    assert math.isclose(budget.u_g, u_g, rel_tol=1e-6)


def test_the_uncertainty_is_what_rounding_does() -> None:
    before = np.linspace(0, 1, 1000, endpoint=False)
    after = before[:, np.newaxis] + np.linspace(100, 101, 1000, endpoint=False)
    errors = np.round(after) - np.round(before)[:, np.newaxis] - (after - before[:, np.newaxis])
    assert np.std(errors) == pytest.approx(two_readings_u_g(1.0), rel=1e-3)


@pytest.mark.parametrize(
    "accuracy", [ByClass("III", 1.0), ByVerification(500.0, 0.6, 0.3)], ids=["class", "verified"]
)
def test_the_scales_error_is_one_more_cause(accuracy: Accuracy) -> None:
    budget = portion_budget(118.0, 1.0, accuracy)
    division, scale = budget.contributions
    assert (division.name, scale.name) == ("division", "scale")
    assert scale.u_g == accuracy.portion_u_g(118.0)
    assert scale.source == accuracy.source(118.0)
    assert math.isclose(budget.u_g**2, 1 / 6 + scale.u_g**2)


def test_contributions_combine_as_in_a_published_weighing_budget() -> None:
    # University of Tartu, weighing.smu (ut.ee/katsekoda/GUM_examples): repeatability 0.00017 g,
    # drift within 0.0002 g and readability within 0.00005 g, both rectangular: u = 0.000207525 g.
    budget = Budget(
        (
            Contribution("repeatability", 0.00017, "fifteen degrees of freedom"),
            Contribution("drift", 0.0002 / math.sqrt(3), "rectangular"),
            Contribution("readability", 0.00005 / math.sqrt(3), "rectangular"),
        )
    )
    assert math.isclose(budget.u_g, 0.000207525, abs_tol=5e-10)
