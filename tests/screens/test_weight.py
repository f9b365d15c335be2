from __future__ import annotations

import pytest

from scaled.core.profile import parse_profile
from scaled.core.reading import Unit
from scaled.screens.weight import Writing, writing

OUNCE_G = 28.349523125  # NIST Handbook 44, Appendix C


def written(*targets: str) -> Writing:
    steps = "\n".join(
        f'[[step]]\nid = "s{place}"\ningredient = "food"\ntarget = "{target}"\n'
        for place, target in enumerate(targets)
    )
    head = 'schema = 1\nid = "dish"\ntitle = "Dish"\nrevision = "1"\n'
    container = '[container]\nname = "bowl"\ntare = "18 g"\n'
    return writing(parse_profile(head + container + steps, "dish.toml"))


@pytest.mark.parametrize(
    ("targets", "unit", "step"),
    [
        (("128 g", "0.2 kg"), Unit.G, 1.0),
        (("128.5 g", "30 g"), Unit.G, 0.1),
        (("4 oz", "0.35 oz"), Unit.OZ, 0.01),
        (("4 oz", "0.25 lb", "30 g"), Unit.OZ, 0.05),
        (("4 oz", "30 g"), Unit.G, 1.0),
    ],
)
def test_unit_and_digits_are_the_authors(
    targets: tuple[str, ...], unit: Unit, step: float
) -> None:
    assert written(*targets) == Writing(unit, step)


@pytest.mark.parametrize(
    ("division_g", "least"),
    [(0.1, 1.0), (0.5, 1.0), (1.0, 1.0), (2.0, 2.0), (5.0, 2.0), (10.0, 5.0)],
)
def test_grams_are_shown_no_finer_than_the_scale_can_show(division_g: float, least: float) -> None:
    # Rounding of two readings: u = d / sqrt(6) (GUM, F.2.2.1), with half as much again for noise.
    shown = Writing(Unit.G, 1.0).for_uncertainty(1.5 * division_g / 6**0.5)
    assert least <= shown.step <= max(1.0, division_g)


def test_noise_does_not_change_the_digits_of_a_one_gram_scale() -> None:
    steps = {Writing(Unit.G, 1.0).for_uncertainty(u / 100).step for u in range(29, 80)}
    assert steps == {1.0}


def test_hundredths_of_an_ounce_are_not_shown_on_a_one_gram_scale() -> None:
    shown = Writing(Unit.OZ, 0.01).for_uncertainty(0.41)
    assert shown.step == pytest.approx(0.02)
    assert shown.text(1.0 * OUNCE_G) == "1.00 oz"
    assert shown.text(0.35 * OUNCE_G) == "0.36 oz"


@pytest.mark.parametrize(
    ("weight_g", "text"), [(45.6, "46 g"), (-0.2, "0 g"), (-3.4, "-3 g"), (1250.2, "1250 g")]
)
def test_weights_are_rounded(weight_g: float, text: str) -> None:
    assert Writing(Unit.G, 1.0).text(weight_g) == text


def test_an_amount_to_move_is_never_nothing() -> None:
    assert Writing(Unit.G, 1.0).amount(0.2) == "1 g"
    assert Writing(Unit.OZ, 0.05).amount(0.2) == "0.05 oz"
