from __future__ import annotations

import pytest

from scaled.core.accuracy import AccuracyClass
from scaled.core.checkup import Checkup, Trial, plan_checkup
from scaled.core.errors import ConfigError
from scaled.core.permissible import Permissible, Standard
from scaled.core.units import parse_weight
from tests.core.checked import KITCHEN, plate

R76 = Permissible(Standard.OIML_R76, "III", 1.0)


def planned(*weights: str, error_g: float | None = None) -> Checkup:
    return plan_checkup(KITCHEN, R76, [parse_weight(text) for text in weights], error_g)


def said(checkup: Checkup, trial: Trial) -> list[str]:
    return [str(lay) for lay in checkup.lays if lay.trial is trial]


def test_weights_are_laid_on_alone_from_light_to_heavy_then_together() -> None:
    checkup = planned("2 kg", "500 g", "500 g")
    assert said(checkup, Trial.LINEARITY) == [
        "500 g, middle",
        "2 kg, middle",
        "500 g and 500 g and 2 kg, middle",
    ]
    assert said(checkup, Trial.REPEATABILITY) == ["2 kg, middle"] * 3


def test_weights_that_are_too_much_together_are_laid_on_alone() -> None:
    assert said(planned("5 kg", "2 kg"), Trial.LINEARITY) == ["2 kg, middle", "5 kg, middle"]


def test_the_corners_get_what_is_nearest_to_a_third_of_max() -> None:
    # OIML R 76-1:2006, 3.6.2.
    assert said(planned("1 kg", "2 kg", "5 kg"), Trial.ECCENTRICITY) == [
        "2 kg, front left",
        "2 kg, front right",
        "2 kg, back right",
        "2 kg, back left",
    ]


def test_weights_nobody_vouches_for_are_taken_to_be_as_good_as_they_must_be() -> None:
    checkup = planned("2 kg")
    assert checkup.weights_off_g(checkup.lays[0]) == pytest.approx(2 / 3)
    checkup = planned("2 kg", "500 g", error_g=0.1)
    together = checkup.lays[2]
    assert checkup.weights_off_g(together) == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("weights", "line"),
    [
        ((), "--weight: give each test weight at hand, at least 1 and at most 10"),
        (("10 g",) * 11, "--weight: give each test weight at hand, at least 1 and at most 10"),
        (("7 kg",), "--weight: 7 kg is more than the scale's Max of 6000 g"),
        (
            ("20 g", "2 kg"),
            "--weight: 20 g is too light to be told from an empty pan; use 50 g or more",
        ),
    ],
)
def test_weights_that_cannot_judge_it(weights: tuple[str, ...], line: str) -> None:
    with pytest.raises(ConfigError) as caught:
        planned(*weights)
    assert str(caught.value) == line


def test_weights_worse_than_the_scale() -> None:
    with pytest.raises(ConfigError) as caught:
        planned("500 g", error_g=1.0)
    assert str(caught.value) == (
        "--weight-error: too much: at 500 g, middle the test weights may be off by 0.333 g in"
        " all; use better ones"
    )


# OIML R 76-1:2006, Table 3: class III has 100 to 10 000 intervals.
@pytest.mark.parametrize(
    ("name", "e_g", "capacity_g", "fits"),
    [
        ("III", 1.0, 10_000.0, True),
        ("III", 1.0, 10_001.0, False),
        ("III", 1.0, 100.0, True),
        ("III", 1.0, 99.0, False),
        ("III", 5.0, 2_500.0, True),
        ("III", 5.0, 2_495.0, False),
        ("II", 0.1, 500.0, True),
        ("II", 0.1, 499.0, False),
        ("IIII", 5.0, 5_000.0, True),
        ("IIII", 5.0, 5_005.0, False),
    ],
)
def test_a_plate_that_no_scale_has(
    name: AccuracyClass, e_g: float, capacity_g: float, fits: bool
) -> None:
    scale = plate(e_g, name, capacity_g)
    limits = Permissible(Standard.OIML_R76, name, e_g)
    weights = [parse_weight(f"{round(capacity_g)} g")]
    if fits:
        assert plan_checkup(scale, limits, weights).lays
        return
    with pytest.raises(ConfigError, match=rf"^--capacity: .* class {name} has .*Table 3"):
        plan_checkup(scale, limits, weights)


def test_a_class_that_handbook_44_is_not_known_for() -> None:
    limits = Permissible(Standard.NIST_HB44, "II", 0.1)
    with pytest.raises(ConfigError) as caught:
        plan_checkup(plate(0.1, "II", 600.0), limits, [parse_weight("200 g")])
    assert str(caught.value) == (
        "--standard: its tolerances are known here for class III only, not for II; write oiml-r76"
    )


def test_a_class_without_an_upper_bound() -> None:
    with pytest.raises(ConfigError, match="class I has 50000 or more"):
        plan_checkup(plate(0.01, "I", 100.0), Permissible(Standard.OIML_R76, "I", 0.01), [])
