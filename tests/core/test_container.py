"""Known containers are recognised by their weight, and only as far as weight can tell."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scaled.core.container import STRANGE_G, Containers
from scaled.core.profile import BuildProfile
from tests.core.scripted import dish

U_G = 0.3


def kitchen(*others: tuple[str, float, bool]) -> BuildProfile:
    """The bowl of 20 g ± 2 g, and others of name, weight ± 2 g, and whether they are right."""
    tables = "".join(
        f'[[other_container]]\nname = "{name}"\ntare = "{tare_g} g"\ntare_tolerance = "2 g"\n'
        f"accepted = {str(accepted).lower()}\n"
        for name, tare_g, accepted in others
    )
    return dish(("[finished]", f"{tables}[finished]"))


def known(*others: tuple[str, float, bool]) -> Containers:
    return Containers.of(kitchen(*others))


def named(containers: Containers, weight_g: float) -> str | None:
    return name.name if (name := containers.guess(weight_g, U_G).known) else None


STEEL, STONE = ("steel dish", 50.0, False), ("stoneware", 310.0, True)


@pytest.mark.parametrize(
    ("weight_g", "name"),
    [
        (20.0, "bowl"), (21.5, "bowl"), (49.0, "steel dish"), (311.5, "stoneware"),
        (30.0, None), (120.0, None), (800.0, None),
    ],
)  # fmt: skip
def test_a_known_weight_has_its_name_and_a_strange_one_has_none(
    weight_g: float, name: str | None
) -> None:
    guess = known(STEEL, STONE).guess(weight_g, U_G)
    assert (guess.known.name if guess.known else None) == name
    assert guess.confidence > 0.9


def test_a_wrong_container_is_known_to_be_wrong_and_an_accepted_one_to_be_right() -> None:
    containers = known(STEEL, STONE)
    assert containers.wrongness(50.0, U_G) > 0.99
    assert containers.wrongness(310.0, U_G) < 0.01
    assert containers.wrongness(20.0, U_G) < 0.02
    assert containers.wrongness(100.0, U_G) == 1.0
    assert containers.wrongness(900.0, U_G) == 1.0


@pytest.mark.parametrize("accepted", [False, True])
def test_of_two_that_weigh_alike_the_written_one_is_named_with_its_doubt(accepted: bool) -> None:
    containers = known(("twin", 20.5, accepted))
    guess = containers.guess(20.5, U_G)
    assert guess.known is containers.own
    assert guess.confidence < 0.96
    assert containers.wrongness(20.5, U_G) < 0.9


def test_of_two_right_ones_that_weigh_alike_neither_is_wrong() -> None:
    containers = known(("one", 310.0, True), ("two", 311.0, True))
    guess = containers.guess(310.5, U_G)
    assert guess.known is not containers.own
    assert guess.confidence == pytest.approx(0.5, abs=0.05)
    assert containers.wrongness(310.5, U_G) < 0.01


def test_the_better_the_weight_is_known_the_surer_the_name() -> None:
    containers = known(("tray", 26.0, False))
    sure, doubtful = containers.guess(26.0, 0.3), containers.guess(26.0, 3.0)
    assert sure.known is not None
    assert sure.known.name == "tray"
    assert sure.confidence > doubtful.confidence


def test_a_tolerance_not_written_is_a_tenth_of_the_weight_and_at_least_a_gram() -> None:
    profile = dish(("tare_tolerance", "brimful"), ('"2 g"', '"900 mL"'), ('"20 g"', '"40 g"'))
    assert Containers.of(profile).own.spread_g == pytest.approx(2.0)
    light = dish(('tare_tolerance = "2 g"', ""), ('"20 g"', '"4 g"'))
    assert Containers.of(light).own.spread_g == 0.5


@pytest.mark.parametrize("others", [(), (STEEL,), (STONE,), (STEEL, STONE, ("box", 90.0, False))])
def test_all_that_may_come_adds_up_to_one(others: tuple[tuple[str, float, bool], ...]) -> None:
    """The density over all weights is a probability's (sum in steps of 0.05 g)."""
    containers = known(*others)
    step_g = 0.05
    total = math.fsum(
        containers.density(k * step_g, U_G) for k in range(int(2 * STRANGE_G / 0.05))
    )
    # A container like the profile's may weigh less than nothing in this model: 0.05 x P(z < -2.9).
    assert step_g * total == pytest.approx(1.0, abs=1e-3)


@given(weight_g=st.floats(-100, 2000), u_g=st.floats(0.01, 50))
def test_whatever_the_weight_the_doubt_is_a_probability(weight_g: float, u_g: float) -> None:
    containers = known(STEEL, STONE)
    assert 0.0 <= containers.guess(weight_g, u_g).confidence <= 1.0 + 1e-9
    assert -1e-9 <= containers.wrongness(weight_g, u_g) <= 1.0
