"""The screen's colours: Okabe and Ito's set, which colour-blind people can tell apart.

Okabe M. and Ito K., "Color Universal Design", https://jfly.uni-koeln.de/color/. A colour is only
ever the third cue here, after a shape and a word.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

BLACK: Final = "#000000"
ORANGE: Final = "#E69F00"
SKY_BLUE: Final = "#56B4E9"
BLUISH_GREEN: Final = "#009E73"
YELLOW: Final = "#F0E442"
BLUE: Final = "#0072B2"
VERMILLION: Final = "#D55E00"
REDDISH_PURPLE: Final = "#CC79A7"

ROLES: Final = MappingProxyType(
    {
        "ground": BLACK,
        "ink": BLACK,
        "plain": "#FFFFFF",
        "quiet": "#A8A8A8",
        "good": SKY_BLUE,
        "more": YELLOW,
        "less": VERMILLION,
        "doubt": REDDISH_PURPLE,
        "faint": "#BDBDBD",
    }
)
"""What each colour says; these are the style sheet's variables.

``ground`` lies behind everything but the filled bands, where ``ink`` is the text on the colour.
"""

ON_GROUND: Final = ("plain", "quiet", "good", "more", "less", "doubt", "faint")
"""Roles written on ``ground``."""
FILLS: Final = ("plain", "good", "more", "less", "doubt", "faint")
"""Roles that fill a band under ``ink``."""
