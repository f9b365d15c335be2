"""What ``scaled scale verify`` was asked for, read from its options."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from pydantic import TypeAdapter, ValidationError

from scaled.commands.options import PLATE
from scaled.config import config_from_options, read_config
from scaled.core.errors import ConfigError
from scaled.core.profile_error import explain
from scaled.core.wording import choices, quoted
from scaled.server.asked import Badge
from scaled.station.check_plan import CheckWanted, plan_check

if TYPE_CHECKING:
    import argparse

    from scaled.config import Config, StationConfig
    from scaled.station.check_plan import CheckPlan

_OF_STATION: Final = ("name", "device", "format", *PLATE, "capacity", "baud", "framing")
_BADGE: Final[TypeAdapter[str]] = TypeAdapter(Badge)


@dataclass(frozen=True, slots=True)
class Request:
    """One check to be made.

    Attributes:
        config: Of the daemon that has the scale, if it runs.
        wanted: What is asked.
        plan: What that comes to.
    """

    config: Config
    wanted: CheckWanted
    plan: CheckPlan


def read_request(args: argparse.Namespace) -> Request:
    """The check that the options ask for.

    Raises:
        ConfigError: One is wrong or missing, or no such check can be made; names it.
    """
    config, station = _station(args)
    wanted = CheckWanted(
        weights=tuple(args.weight),
        weight_error=args.weight_error,
        standard=args.standard,
        new=args.new,
        badge=args.badge and _badge(args.badge),
    )
    try:
        plan = plan_check(station, wanted)
    except ConfigError as err:
        key = err.where.removeprefix("--")
        if args.config is None or key not in {*PLATE, "capacity"}:
            raise
        raise ConfigError(args.config, f"station {station.name}, {key}", err.reason) from err
    return Request(config, wanted, plan)


def _station(args: argparse.Namespace) -> tuple[Config, StationConfig]:
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
    return config, found


def _station_of_options(
    given: dict[str, object], state: str | None
) -> tuple[Config, StationConfig]:
    for key in ("device", "format"):
        if key not in given:
            raise ConfigError(f"--{key}", "", "missing; give it, or a file with --config")
    if str(given.get("baud", "")).isdecimal():
        given["baud"] = int(str(given["baud"]))
    config = config_from_options(given, {"state": state} if state else {})
    return config, config.stations[0]


def _badge(text: str) -> str:
    try:
        return _BADGE.validate_python(text)
    except ValidationError as err:
        _, reason = explain(err, {}, {})
        raise ConfigError("--badge", "", reason) from err
