"""What ``scaled scale verify`` was asked for, read from its options."""

from __future__ import annotations

from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING, Final, TypeVar

from pydantic import TypeAdapter, ValidationError

from scaled.commands.options import PLATE
from scaled.config import config_from_options, journal_in, read_config
from scaled.core.checkup import Checkup, Plate, plan_checkup
from scaled.core.errors import ConfigError
from scaled.core.permissible import Permissible, Standard
from scaled.core.profile_error import explain
from scaled.core.profile_fields import Weight
from scaled.core.wording import choices, quoted
from scaled.records.check import ScaleCheck
from scaled.server.asked import Badge

if TYPE_CHECKING:
    import argparse
    from datetime import datetime

    from scaled.config import StationConfig
    from scaled.core.units import Grams
    from scaled.core.verifying import Verifying

_OF_STATION: Final = ("name", "device", "format", *PLATE, "capacity", "baud", "framing")
_WEIGHT: Final[TypeAdapter[Grams]] = TypeAdapter(Weight)
_BADGE: Final[TypeAdapter[str]] = TypeAdapter(Badge)


T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Request:
    """One check to be made.

    Attributes:
        station: Whose scale.
        journal: Where it is kept.
        checkup: What is to be done.
        badge: Who does it; None when nobody said.
    """

    station: StationConfig
    journal: Path
    checkup: Checkup
    badge: str | None

    def record(self, made: Verifying, at: datetime) -> ScaleCheck:
        """What is kept of it once it is made; ``at`` is in UTC."""
        if made.verification is None:
            raise ValueError("the check is not made to its end")
        plate = self.checkup.plate
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
            software=version("scaled-station"),
            verification=made.verification,
        )


def read_request(args: argparse.Namespace) -> Request:
    """The check that the options ask for.

    Raises:
        ConfigError: One is wrong or missing, or no such check can be made; names it.
    """
    station, state = _station(args)
    plate = _plate(station, args.config)
    if args.standard not in set(Standard):
        reason = f"{quoted(args.standard)} is not known; write {choices(Standard)}"
        raise ConfigError("--standard", "", reason)
    standard = Standard(args.standard)
    interval_g = plate.e_g if standard is Standard.OIML_R76 else plate.division_g
    permissible = Permissible(standard, plate.accuracy_class, float(interval_g), args.new)
    weights_g = [_read("--weight", text, _WEIGHT) for text in args.weight]
    error_g = args.weight_error and float(_read("--weight-error", args.weight_error, _WEIGHT))
    checkup = plan_checkup(plate, permissible, weights_g, error_g)
    badge = args.badge and _read("--badge", args.badge, _BADGE)
    return Request(station, journal_in(state), checkup, badge)


def _station(args: argparse.Namespace) -> tuple[StationConfig, Path]:
    given = {key: getattr(args, key) for key in _OF_STATION if getattr(args, key) is not None}
    if args.config is None:
        return _station_of_options(given, args.state)
    name = given.pop("name", None)
    if args.state is not None:
        given["state"] = args.state
    if given:
        reason = "not together with --config; write it into the file"
        raise ConfigError(f"--{next(iter(given))}", "", reason)
    config = read_config(Path(args.config))
    known = [station.name for station in config.stations]
    if name is None and len(known) > 1:
        raise ConfigError("--station", "", f"missing; there are {choices(known)}")
    found = next((one for one in config.stations if name in {None, one.name}), None)
    if found is None:
        raise ConfigError("--station", "", f"no {quoted(str(name))}; there is {choices(known)}")
    return found, config.state


def _station_of_options(given: dict[str, object], state: str | None) -> tuple[StationConfig, Path]:
    for key in ("device", "format"):
        if key not in given:
            raise ConfigError(f"--{key}", "", "missing; give it, or a file with --config")
    if str(given.get("baud", "")).isdecimal():
        given["baud"] = int(str(given["baud"]))
    config = config_from_options(given, {"state": state} if state else {})
    return config.stations[0], config.state


def _plate(station: StationConfig, file: str | None) -> Plate:
    """What must stand on the plate; each part that lacks is asked for."""
    division_g, name, capacity_g = station.division_g, station.accuracy_class, station.capacity_g
    if division_g is None:
        raise _lacking("division", station, file)
    if name is None:
        raise _lacking("class", station, file)
    if capacity_g is None:
        raise _lacking("capacity", station, file)
    return Plate(division_g, name, station.e_g or division_g, capacity_g)


def _lacking(key: str, station: StationConfig, file: str | None) -> ConfigError:
    reason = "missing; write it as it stands on the scale's plate"
    if file is None:
        return ConfigError(f"--{key}", "", reason)
    return ConfigError(file, f"station {station.name}, {key}", reason)


def _read(option: str, text: str, kind: TypeAdapter[T]) -> T:
    try:
        return kind.validate_python(text)
    except ValidationError as err:
        _, reason = explain(err, {}, {})
        raise ConfigError(option, "", reason) from err
