from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from scaled.screens.band import BAND_FROM, BAND_TO, Band

WEIGHTS = st.floats(-500, 5000)


@st.composite
def bands(draw: st.DrawFn) -> Band:
    target = draw(st.floats(1, 2000))
    under = draw(st.floats(0, 1)) * target
    over = draw(st.floats(0, 1)) * target
    return Band(target - under, target, target + over)


@given(bands(), WEIGHTS, WEIGHTS)
def test_more_weight_never_moves_the_needle_back(band: Band, one: float, other: float) -> None:
    lighter, heavier = sorted((one, other))
    assert 0 <= band.share(lighter) <= band.share(heavier) <= 1


@given(bands(), WEIGHTS)
def test_the_needle_is_in_the_band_exactly_when_the_weight_is(band: Band, weight: float) -> None:
    inside = band.lower_g <= weight <= band.upper_g
    share = band.share(weight)
    assert inside == (BAND_FROM <= share <= BAND_TO) or share in {BAND_FROM, BAND_TO}


@given(bands())
def test_the_band_is_always_at_the_same_place(band: Band) -> None:
    if band.upper_g - band.lower_g > 1e-6:
        assert abs(band.share(band.lower_g) - BAND_FROM) < 1e-9
        assert abs(band.share(band.upper_g) - BAND_TO) < 1e-9


def test_a_band_without_width_is_passed_at_its_middle() -> None:
    assert Band(50, 50, 50).share(50) == (BAND_FROM + BAND_TO) / 2


def test_a_step_that_may_be_left_empty_begins_in_the_band() -> None:
    assert Band(0, 10, 20).share(0) == BAND_FROM
    assert Band(0, 10, 20).share(-5) == 0
