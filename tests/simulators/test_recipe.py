from __future__ import annotations

from importlib.resources import files

import pytest

from scaled.core.profile import parse_profile
from simulators.display import GRAMS
from simulators.recipe import RecipeError, read_recipe


def test_units_are_the_published_equivalents() -> None:
    # NIST Handbook 44, Appendix C: avoirdupois ounce and pound, exact.
    assert GRAMS["oz"] == 28.349523125
    assert GRAMS["lb"] == 453.59237
    assert GRAMS["lb"] == pytest.approx(16 * GRAMS["oz"], rel=1e-15)


def test_reads_what_a_cook_needs(recipe_text: str) -> None:
    recipe = read_recipe(recipe_text)
    assert (recipe.id, recipe.tare_g, recipe.tare_tolerance_g) == ("test-bowl", 20.0, 2.0)
    grain, sauce, leaves, seeds = recipe.steps
    assert (grain.target_g, grain.under_g, grain.over_g, grain.scoops) == (120.0, 8.0, 9.0, 3)
    assert sauce.target_g == pytest.approx(56.69904625)
    assert sauce.under_g == sauce.over_g == pytest.approx(5.669904625)
    assert leaves.target_g == 30.0
    assert seeds.target_g == pytest.approx(9.0718474)
    assert [step.by_fingers for step in recipe.steps] == [False, False, True, True]
    assert [step.position for step in recipe.steps] == ["hot", "hot", "cold", "cold"]


def shipped() -> list[str]:
    return sorted(f.name for f in files("profiles").iterdir() if f.name.endswith(".toml"))


@pytest.mark.parametrize("name", shipped())
def test_agrees_with_the_station_on_shipped_profiles(name: str) -> None:
    text = (files("profiles") / name).read_text(encoding="utf-8")
    ours, theirs = read_recipe(text), parse_profile(text, name)
    assert ours.tare_g == pytest.approx(theirs.container.tare_g)
    assert [step.id for step in ours.steps] == [step.id for step in theirs.steps]
    for mine, its in zip(ours.steps, theirs.steps, strict=True):
        assert mine.target_g == pytest.approx(its.target_g)
        assert mine.under_g == pytest.approx(its.under_g)
        assert mine.over_g == pytest.approx(its.over_g)
        assert mine.scoops == its.scoops
        assert mine.position == its.position


@pytest.mark.parametrize(
    ("before", "after", "reason"),
    [
        ('id = "test-bowl"', "", "id: missing"),
        ("[container]", "[container", "not readable as TOML"),
        ('"120 g"', '"120"', '"120" is not a weight'),
        ('"120 g"', '"120 mL"', '"120 mL": unknown unit'),
    ],
)
def test_says_why_a_recipe_cannot_be_followed(
    recipe_text: str, before: str, after: str, reason: str
) -> None:
    with pytest.raises(RecipeError) as caught:
        read_recipe(recipe_text.replace(before, after, 1))
    assert reason in str(caught.value)
