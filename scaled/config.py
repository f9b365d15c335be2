"""How a station is set up: a TOML file or the command line's options, checked once.

::

    listen = "unix:/run/kitchen/station.sock"    # optional; by default in state
    state = "/var/lib/kitchen"                   # optional
    profiles = ["/srv/profiles"]                 # optional, more folders of build profiles

    [[station]]
    name = "line-1"
    device = "usb:A10K5X"                        # or a path such as /dev/ttyUSB0, or an address
    format = "ascii-stream"                      # or a description, "my-scale.toml"
    division = "1 g"                             # this and all below: optional
    class = "III"                                # accuracy class, as on the scale's plate
    e = "1 g"                                    # its interval e; by default the division
    capacity = "6 kg"                            # the most it weighs, Max
    test_weights = ["500 g", "2 kg"]             # what it is checked with
    test_weight_error = "0.1 g"                  # how far off each of them may be
    check_standard = "oiml-r76"                  # or "nist-hb44"
    check_of_the_day = "flag"                    # without one: refuse, flag or allow builds
    profile = "winter-barley-bowl"               # an id or a file
    position = "hot line"                        # of the profile's steps, those done here
    baud = 9600                                  # by default what the format's scales have
    framing = "8N1"                              # likewise
    stale_s = 2.0
    unit = "g"                                   # what its display is to show; by default any;
                                                 # believed of a scale that sends no unit

A relative path in the file is taken from the file's own folder.
"""

from __future__ import annotations

import os
import tomllib
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final, Literal, Self, TypeAlias

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    ValidationError,
    ValidationInfo,
    model_validator,
)

from scaled.address import Address, read_address
from scaled.core.errors import ConfigError
from scaled.core.profile_error import Tables, explain
from scaled.core.profile_fields import Line, Slug, Table, Weight, broken_rule
from scaled.core.scale import Scale
from scaled.core.wording import quoted
from scaled.protocol import Framing

if TYPE_CHECKING:
    from collections.abc import Mapping

CheckRule: TypeAlias = Literal["refuse", "flag", "allow"]
"""What happens on a scale that was not verified today, or was and is not fit: no build can be
begun, or cooks are told, or nothing (but of one that is not fit they are always told)."""


def state_dir() -> Path:
    """The folder for what a station must keep: ``$XDG_STATE_HOME/scaled`` or its default."""
    written = Path(os.environ.get("XDG_STATE_HOME", ""))
    # The XDG base directory specification: a relative path there is to be ignored.
    home = written if written.is_absolute() else Path.home() / ".local" / "state"
    return home / "scaled"


def journal_in(state: Path) -> Path:
    """The journal's file in a state folder."""
    return state / "journal.db"


def address_in(state: Path) -> str:
    """Where a station with that state folder listens when nobody says otherwise."""
    return f"unix:{state / 'station.sock'}"


def default_address() -> str:
    """Where a screen looks for a station when nobody says otherwise."""
    return address_in(state_dir())


def _default_listen(config: dict[str, Any]) -> str:
    return address_in(config["state"])


def _read_address(value: object) -> object:
    return read_address(value) if isinstance(value, str) else value


def _read_path(value: object, info: ValidationInfo) -> object:
    folder = (info.context or {}).get("folder", Path())
    return folder / Path(value).expanduser() if isinstance(value, str) else value


def _read_format(value: str, info: ValidationInfo) -> str:
    """A description's file from the configuration's own folder; a name as it is."""
    return str(_read_path(value, info)) if value.endswith(".toml") else value


Folder = Annotated[Path, BeforeValidator(_read_path)]


class StationConfig(Scale):
    """One scale: where it is, how it speaks and what its plate says.

    Attributes:
        name: What screens call it; part of its URL.
        device: What its driver opens.
        format: Name of the driver of its wire format, or a description's file.
        profile: Id or file of the profile it starts with; None: chosen later on a screen.
        position: Position of the profile's steps that are done at it; None: all of them are.
        baud: Bits per second of a serial line; None: as such scales are usually set.
        framing: Data bits, parity and stop bits of a serial line; None: as usual.
        stale_s: Silence after which its last reading no longer counts.
        capacity_g: The most it weighs, Max on its plate; only a check of the scale needs it.
        test_weights_g: The test weights it is checked with when nobody names others.
        test_weight_error_g: How far off each may be; None: as much as good ones may be.
        check_standard: Whose table judges a check when nobody names another.
        check_of_the_day: What happens to builds without one.
        unit: What its display is to show, and what a scale that sends no unit is taken to show
            until what is set down says otherwise; None: any unit, or g.
    """

    name: Slug = "station"
    device: Line = Field(examples=["/dev/ttyUSB0"])
    format: Annotated[Line, AfterValidator(_read_format)] = Field(examples=["ascii-stream"])
    profile: Line | None = None
    position: Line | None = None
    baud: int | None = Field(default=None, gt=0, le=4_000_000, examples=[9600])
    framing: Framing | None = None
    stale_s: float = Field(default=2.0, gt=0, le=60, examples=[2.0])
    capacity_g: Weight | None = Field(default=None, alias="capacity", examples=["6 kg"])
    test_weights_g: tuple[Weight, ...] = Field(
        default=(), alias="test_weights", strict=False, examples=[["500 g", "2 kg"]]
    )
    test_weight_error_g: Weight | None = Field(
        default=None, alias="test_weight_error", examples=["0.1 g"]
    )
    check_standard: Literal["oiml-r76", "nist-hb44"] = "oiml-r76"
    check_of_the_day: CheckRule = Field(default="allow", examples=["flag"])
    unit: Literal["g", "kg", "oz", "lb"] | None = Field(default=None, examples=["g"])


class Config(Table):
    """One daemon: its stations, where it listens, its profile folders, where records go."""

    stations: tuple[StationConfig, ...] = Field(default=(), alias="station", strict=False)
    profiles: tuple[Folder, ...] = Field(default=(), strict=False)
    state: Folder = Field(default_factory=state_dir)
    listen: Annotated[Address, BeforeValidator(_read_address)] = Field(
        default_factory=_default_listen, validate_default=True
    )

    @model_validator(mode="after")
    def _stations_differ(self) -> Self:
        if not self.stations:
            raise broken_rule("station", "there is none; add a [[station]] table")
        for key in ("name", "device"):
            values = [getattr(station, key) for station in self.stations]
            twice = next((value for value in values if values.count(value) > 1), None)
            if twice:
                raise broken_rule(
                    "station", f"two have the {key} {quoted(twice)}; give each its own"
                )
        return self


_OPTIONS: Final = {"name": "station"}
"""Options that are not spelled as their key is."""
_TABLES: Final[Tables] = {(): Config, ("station",): StationConfig}


def read_config(path: Path) -> Config:
    """Read a configuration file.

    Raises:
        ConfigError: It cannot be read or breaks the contract; names file, key and reason.
    """
    data: dict[str, Any] = {}
    try:
        data = tomllib.loads(path.read_text(encoding="utf-8"))
        return Config.model_validate(data, context={"folder": path.absolute().parent})
    except OSError as err:
        raise ConfigError(str(path), "", f"cannot be read: {err.strerror}") from err
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as err:
        raise ConfigError(str(path), "", f"not readable as TOML: {err}") from err
    except ValidationError as err:
        raise ConfigError(str(path), *explain(err, data, _TABLES)) from err


def config_from_options(station: Mapping[str, object], others: Mapping[str, object]) -> Config:
    """The configuration of one station given by command-line options.

    ``station`` has the keys of a ``[[station]]`` entry, ``others`` the other keys of a file.

    Raises:
        ConfigError: A value is wrong; names its option.
    """
    data: dict[str, object] = {"station": [station], **others}
    try:
        return Config.model_validate(data)
    except ValidationError as err:
        place, reason = explain(err, data, _TABLES)
        key = place.rpartition(", ")[2]
        raise ConfigError(f"--{_OPTIONS.get(key, key)}", "", reason) from err
