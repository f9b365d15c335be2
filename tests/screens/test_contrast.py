from __future__ import annotations

import pytest

from scaled.screens.contrast import contrast
from scaled.screens.palette import FILLS, ON_GROUND, ROLES


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        # W3C WCAG 2.2, definition of contrast ratio: from 1 to 21.
        ("#000000", "#FFFFFF", 21.0),
        ("#56B4E9", "#56B4E9", 1.0),
        # Published test value of a contrast library, computed by the same definition.
        ("#00C600", "#0000C6", 5.000229313902297),
        # The well-known pair of greys on either side of 4.5 on white.
        ("#767676", "#FFFFFF", 4.5422),
        ("#777777", "#FFFFFF", 4.4781),
        ("#949494", "#FFFFFF", 3.0335),
        ("#FF0000", "#FFFFFF", 3.9985),
        ("#0000FF", "#FFFFFF", 8.5925),
        ("#808080", "#FFFFFF", 3.9494),
        # Okabe and Ito's colours against black, jfly.uni-koeln.de/color.
        ("#E69F00", "#000000", 9.32),
        ("#56B4E9", "#000000", 9.10),
        ("#009E73", "#000000", 6.14),
        ("#F0E442", "#000000", 15.88),
        ("#0072B2", "#000000", 4.05),
        ("#D55E00", "#000000", 5.43),
        ("#CC79A7", "#000000", 6.86),
    ],
)
def test_contrast_is_the_published_one(one: str, other: str, ratio: float) -> None:
    assert contrast(one, other) == pytest.approx(ratio, abs=0.005)
    assert contrast(other, one) == contrast(one, other)


def test_text_on_the_ground_reaches_what_wcag_asks() -> None:
    # WCAG 2.2, success criterion 1.4.3 (AA): 4.5, not rounded up.
    for role in ON_GROUND:
        assert contrast(ROLES[role], ROLES["ground"]) >= 4.5, role


def test_text_on_the_bands_reaches_what_wcag_asks() -> None:
    for role in FILLS:
        assert contrast(ROLES["ink"], ROLES[role]) >= 4.5, role
