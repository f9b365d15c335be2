"""A check of a station's scale: asked for, planned by what its plate says, recorded when made."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from pydantic import TypeAdapter, ValidationError

from scaled.core.checkup import Checkup, Plate, plan_checkup
from scaled.core.errors import ConfigError
from scaled.core.permissible import Permissible, Standard
from scaled.core.profile_error import explain
from scaled.core.profile_fields import Weight
from scaled.core.wording import choices, quoted
from scaled.records.check import ScaleCheck

if TYPE_CHECKING:
    from datetime import datetime

    from scaled.config import StationConfig
    from scaled.core.units import Grams
    from scaled.core.verification import Verification

_WEIGHT: Final[TypeAdapter[Grams]] = TypeAdapter(Weight)

_ASKED: Final = frozenset({"--weight", "--weight-error", "--standard"})
"""What whoever wants a check may say of it; the rest is the configuration's."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckWanted:
    """What somebody asks of a check; what is left out is as the configuration has it.

    Attributes:
        weights: The test weights at hand, such as ``500 g``.
        weight_error: How far off each of them may be.
        standard: Whose table judges: ``oiml-r76`` or ``nist-hb44``.
        new: The scale is new or repaired: half of the tolerance in use.
        badge: Who checks; None when nobody said.
    """

    weights: tuple[str, ...] = ()
    weight_error: str | None = None
    standard: str | None = None
    new: bool = False
    badge: str | None = None


@dataclass(frozen=True, slots=True)
class CheckPlan:
    """One check to be made.

    Attributes:
        station: Whose scale.
        checkup: What is to be done.
        badge: Who does it; None when nobody said.
    """

    station: StationConfig
    checkup: Checkup
    badge: str | None

    def record(self, verification: Verification, at: datetime, software: str) -> ScaleCheck:
        """What is kept of it once it is made; ``at`` is in UTC, and kept to the millisecond."""
        plate = self.checkup.plate
        at = at.replace(microsecond=at.microsecond // 1000 * 1000)
        return ScaleCheck(
            check=f"{at:%Y%m%dT%H%M%S}{at.microsecond // 1000:03d}Z-{self.station.name}-check",
            station=self.station.name,
            badge=self.badge,
            format=self.station.format,
            device=self.station.device,
            division_g=float(plate.division_g),
            accuracy_class=plate.accuracy_class,
            e_g=float(plate.e_g),
            capacity_g=float(plate.capacity_g),
            weight_error_g=self.checkup.weight_error_g,
            checked_at=at,
            software=software,
            verification=verification,
        )


def plan_check(station: StationConfig, wanted: CheckWanted) -> CheckPlan:
    """The check that is asked for.

    Raises:
        ConfigError: Something is wrong or missing, or no such check can be made; names the
            option of ``scaled scale verify``.
    """
    plate = plate_of(station)
    permissible = _permissible(plate, wanted.standard or station.check_standard, new=wanted.new)
    weights_g = [read_weight("--weight", text) for text in wanted.weights]
    error_g = station.test_weight_error_g
    if wanted.weight_error is not None:
        error_g = read_weight("--weight-error", wanted.weight_error)
    checkup = plan_checkup(
        plate,
        permissible,
        weights_g or station.test_weights_g,
        None if error_g is None else float(error_g),
    )
    return CheckPlan(station, checkup, wanted.badge)


def unplanned(err: ConfigError) -> str:
    """Why a check cannot be made, for somebody who asked for it and gave no options."""
    key = err.where.removeprefix("--")
    place = key if err.where in _ASKED else f"in the station's configuration, {key}"
    return f"{place}: {err.reason}"


def read_weight(option: str, text: str) -> Grams:
    """The weight that somebody wrote.

    Raises:
        ConfigError: It is none; names the option.
    """
    try:
        return _WEIGHT.validate_python(text)
    except ValidationError as err:
        _, reason = explain(err, {}, {})
        raise ConfigError(option, "", reason) from err


def plate_of(station: StationConfig) -> Plate:
    """What stands on the plate of its scale.

    Raises:
        ConfigError: A part of it is missing; names the option of ``scaled scale verify``.
    """
    division_g, name, capacity_g = station.division_g, station.accuracy_class, station.capacity_g
    if division_g is None:
        raise _lacking("division")
    if name is None:
        raise _lacking("class")
    if capacity_g is None:
        raise _lacking("capacity")
    return Plate(division_g, name, station.e_g or division_g, capacity_g)


def _lacking(key: str) -> ConfigError:
    return ConfigError(f"--{key}", "", "missing; write it as it stands on the scale's plate")


def _permissible(plate: Plate, name: str, *, new: bool) -> Permissible:
    if name not in set(Standard):
        reason = f"{quoted(name)} is not known; write {choices(Standard)}"
        raise ConfigError("--standard", "", reason)
    standard = Standard(name)
    interval_g = plate.e_g if standard is Standard.OIML_R76 else plate.division_g
    return Permissible(standard, plate.accuracy_class, float(interval_g), new)
