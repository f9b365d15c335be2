"""What a check of a scale asks for: which test weights, where on the pan, in which order."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from scaled.core.errors import ConfigError
from scaled.core.permissible import Permissible, Standard, interval_counts
from scaled.core.wording import spell

if TYPE_CHECKING:
    from collections.abc import Sequence

    from scaled.core.accuracy import AccuracyClass
    from scaled.core.units import Grams

_TIMES: Final = 3
"""How often the repeatability load is weighed (common practice, no published source; a type test
takes ten: OIML R 76-1:2006, A.4.10)."""
_ECCENTRIC: Final = 1 / 3
"""Share of Max that the eccentricity load should have (OIML R 76-1:2006, 3.6.2)."""
WEIGHT_SHARE: Final = 1 / 3
"""Largest error of test weights, as a share of the error they are to find (common practice, no
published source)."""
_MOST_WEIGHTS: Final = 10
_LEAST_DIVISIONS: Final = 50
"""Lighter loads are lost in rounding; class III counts from 20 e (OIML R 76-1:2006, Table 3)."""


class Trial(StrEnum):
    """One property of a scale that a check looks at."""

    LINEARITY = "linearity"
    REPEATABILITY = "repeatability"
    ECCENTRICITY = "eccentricity"
    ZERO_RETURN = "zero return"


class Spot(StrEnum):
    """Where on the pan."""

    MIDDLE = "middle"
    FRONT_LEFT = "front left"
    FRONT_RIGHT = "front right"
    BACK_RIGHT = "back right"
    BACK_LEFT = "back left"


CORNERS: Final = tuple(spot for spot in Spot if spot is not Spot.MIDDLE)


@dataclass(frozen=True, slots=True)
class Plate:
    """What must be known of a scale to judge it, as on its plate.

    Attributes:
        division_g: Its smallest displayed step.
        accuracy_class: Its class.
        e_g: Its verification scale interval.
        capacity_g: The most it weighs, Max.
    """

    division_g: Grams
    accuracy_class: AccuracyClass
    e_g: Grams
    capacity_g: Grams


@dataclass(frozen=True, slots=True)
class Lay:
    """One load to put on the empty pan: test weights, all at one spot.

    Attributes:
        trial: What it is for.
        weights_g: The weights, at least one.
        spot: Where they go.
    """

    trial: Trial
    weights_g: tuple[Grams, ...]
    spot: Spot = Spot.MIDDLE

    @property
    def load_g(self) -> float:
        """What they weigh together."""
        return sum(self.weights_g)

    @property
    def weights(self) -> str:
        """The weights as they are called: ``500 g and 2 kg``."""
        return " and ".join(spell(weight, weight.unit) for weight in self.weights_g)

    def __str__(self) -> str:
        return f"{self.weights}, {self.spot}"


@dataclass(frozen=True, slots=True)
class Checkup:
    """A whole check.

    Attributes:
        plate: The scale.
        permissible: What judges it.
        weight_error_g: How far off each test weight may be; None: nobody said, and they are
            taken to be as good as they have to be.
        lays: The loads, in order; the pan is emptied before each and after the last.
    """

    plate: Plate
    permissible: Permissible
    weight_error_g: float | None
    lays: tuple[Lay, ...]

    def weights_off_g(self, lay: Lay) -> float:
        """How far off its test weights may be together, either way, g."""
        if self.weight_error_g is None:
            return WEIGHT_SHARE * self.permissible.limit_g(lay.load_g)
        return self.weight_error_g * len(lay.weights_g)


def plan_checkup(
    plate: Plate,
    permissible: Permissible,
    weights_g: Sequence[Grams],
    weight_error_g: float | None = None,
) -> Checkup:
    """The check that can be made with some test weights.

    Args:
        plate: The scale.
        permissible: What judges it.
        weights_g: The test weights at hand; two may be alike.
        weight_error_g: How far off each of them may be; None: not known.

    Raises:
        ConfigError: There is no such scale, or these weights cannot judge it; names the option.
    """
    _check_plate(plate, permissible)
    _check_weights(plate, weights_g)
    lays = _lays(sorted(weights_g), plate.capacity_g)
    checkup = Checkup(plate, permissible, weight_error_g, lays)
    for lay in lays:
        most_g = WEIGHT_SHARE * permissible.limit_g(lay.load_g)
        if checkup.weights_off_g(lay) > most_g * (1 + 1e-9):
            reason = f"too much: at {lay} the test weights may be off by {most_g:.3g} g in all"
            raise ConfigError("--weight-error", "", f"{reason}; use better ones")
    return checkup


def _check_plate(plate: Plate, permissible: Permissible) -> None:
    name, count = plate.accuracy_class, plate.capacity_g / plate.e_g
    least, most = interval_counts(name, plate.e_g)
    if not least <= count * (1 + 1e-9) or not count <= most * (1 + 1e-9):
        spread = f"{least:g} or more" if most == math.inf else f"{least:g} to {most:g}"
        reason = (
            f"that is {count:.6g} times e, and class {name} has {spread} (OIML R 76-1:2006,"
            " Table 3); write class, e and Max as they stand on the scale's plate"
        )
        raise ConfigError("--capacity", "", reason)
    if permissible.standard is Standard.NIST_HB44 and name != "III":
        reason = f"its tolerances are known here for class III only, not for {name}"
        raise ConfigError("--standard", "", f"{reason}; write oiml-r76")


def _check_weights(plate: Plate, weights_g: Sequence[Grams]) -> None:
    if not 0 < len(weights_g) <= _MOST_WEIGHTS:
        reason = f"give each test weight at hand, at least 1 and at most {_MOST_WEIGHTS}"
        raise ConfigError("--weight", "", reason)
    for weight_g in weights_g:
        spelled = spell(weight_g, weight_g.unit)
        if weight_g > plate.capacity_g:
            most = spell(plate.capacity_g, plate.capacity_g.unit)
            raise ConfigError("--weight", "", f"{spelled} is more than the scale's Max of {most}")
        if weight_g < _LEAST_DIVISIONS * plate.division_g:
            reason = f"{spelled} is too light to be told from an empty pan"
            least = spell(_LEAST_DIVISIONS * plate.division_g, plate.division_g.unit)
            raise ConfigError("--weight", "", f"{reason}; use {least} or more")


def _lays(weights_g: list[Grams], capacity_g: float) -> tuple[Lay, ...]:
    singles = [*dict.fromkeys(weights_g)]
    loads: list[tuple[Grams, ...]] = [(weight,) for weight in singles]
    if len(weights_g) > 1 and sum(weights_g) <= capacity_g:
        loads.append(tuple(weights_g))
    eccentric = min(singles, key=lambda weight: abs(weight - _ECCENTRIC * capacity_g))
    return (
        *(Lay(Trial.LINEARITY, load) for load in loads),
        *(Lay(Trial.REPEATABILITY, (singles[-1],)) for _ in range(_TIMES)),
        *(Lay(Trial.ECCENTRICITY, (eccentric,), spot) for spot in CORNERS),
    )
