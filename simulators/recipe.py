"""The little a simulated cook must know of a build profile (file contract, schema 1).

A reading of its own, so that a mistake in the station's reading cannot hide in ours.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from typing import Any, Final

from simulators.display import GRAMS

_QUANTITY: Final = re.compile(r"\s*(\d+(?:\.\d+)?)\s*([A-Za-z]+)\s*")
_SPELLINGS: Final = {
    "gram": "g",
    "grams": "g",
    "kilogram": "kg",
    "kilograms": "kg",
    "ounce": "oz",
    "ounces": "oz",
    "pound": "lb",
    "pounds": "lb",
}
_TOLERANCE: Final = 0.10
"""Share of the target allowed either way when a step says nothing (file contract)."""


class RecipeError(ValueError):
    """The text is no build profile a cook could follow; ``str()`` says why."""


@dataclass(frozen=True, slots=True)
class RecipeStep:
    """One ingredient.

    Attributes:
        id: The step's id in the profile.
        target_g: What the standard asks for, g.
        under_g: How far below still passes, g.
        over_g: How far above still passes, g.
        scoops: Gestures that make the target.
        position: Where in the hand-off it belongs, or None.
        by_fingers: Portioned by hand, a pinch at a time.
    """

    id: str
    target_g: float
    under_g: float
    over_g: float
    scoops: int = 1
    position: str | None = None
    by_fingers: bool = False


@dataclass(frozen=True, slots=True)
class Recipe:
    """One dish: an empty container of ``tare_g`` ± ``tare_tolerance_g``, then the steps."""

    id: str
    tare_g: float
    tare_tolerance_g: float
    steps: tuple[RecipeStep, ...]


def read_recipe(text: str) -> Recipe:
    """Read the TOML text of a build profile.

    Raises:
        RecipeError: Not TOML, or something a cook needs is missing.
    """
    try:
        profile = tomllib.loads(text)
        container = profile["container"]
        return Recipe(
            id=profile["id"],
            tare_g=_grams(container["tare"]),
            tare_tolerance_g=_grams(container.get("tare_tolerance", "0 g")),
            steps=tuple(_read_step(step) for step in profile["step"]),
        )
    except tomllib.TOMLDecodeError as err:
        raise RecipeError(f"not readable as TOML: {err}") from err
    except KeyError as err:
        raise RecipeError(f"{err.args[0]}: missing") from err


def _read_step(step: dict[str, Any]) -> RecipeStep:
    target_g = _grams(step["target"])
    usual = f"{_TOLERANCE * target_g} g"
    return RecipeStep(
        id=step["id"],
        target_g=target_g,
        under_g=_grams(step.get("under", usual)),
        over_g=_grams(step.get("over", usual)),
        scoops=step.get("scoops", 1),
        position=step.get("position"),
        by_fingers=step.get("tool", {}).get("kind") == "fingers",
    )


def _grams(text: str) -> float:
    written = _QUANTITY.fullmatch(text)
    if written is None:
        raise RecipeError(f'"{text}" is not a weight')
    number, spelling = written.groups()
    unit = _SPELLINGS.get(spelling, spelling)
    if unit not in GRAMS:
        raise RecipeError(f'"{text}": unknown unit')
    return float(number) * GRAMS[unit]
