"""Option values that several commands share, read the same way everywhere.

``whole``, ``number`` and ``one_of`` make converters for argparse's ``type``.
"""

from __future__ import annotations

from argparse import ArgumentParser, ArgumentTypeError, Namespace
from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Final

from scaled.core.errors import ConfigError
from scaled.core.wording import choices, quoted

if TYPE_CHECKING:
    from scaled.core.scale import Scale

PLATE: Final = ("division", "class", "e")
"""Options, and keys of a configuration, that say what stands on a scale's plate."""

_LONGEST_NUMBER: Final = 18
"""Digits that certainly fit any counter."""


def whole(least: int) -> Callable[[str], int]:
    """Read a whole number that is no less."""

    def read(text: str) -> int:
        number = int(text) if text.isdecimal() and len(text) <= _LONGEST_NUMBER else -1
        if number < least:
            raise ArgumentTypeError(f"{quoted(text)} must be a whole number, {least} or more")
        return number

    return read


def number(most: float) -> Callable[[str], float]:
    """Read a number above zero that is no more."""

    def read(text: str) -> float:
        try:
            value = float(text)
        except ValueError:
            value = 0.0
        if not 0 < value <= most:
            reason = f"{quoted(text)} must be a number, more than 0 and at most {most:g}"
            raise ArgumentTypeError(reason)
        return value

    return read


def one_of(known: Callable[[], Iterable[str]]) -> Callable[[str], str]:
    """Read one of the words, which are asked for when an option is read and not for ``--help``."""

    def read(text: str) -> str:
        words = tuple(known())
        if text not in words:
            raise ArgumentTypeError(f"{quoted(text)} is not known; write {choices(words)}")
        return text

    return read


def add_plate(parser: ArgumentParser, division: str = "") -> None:
    """Declare the options that say what stands on a scale's plate.

    Args:
        parser: The command's.
        division: What happens without ``--division``.
    """
    without = f"; default: {division}" if division else ""
    parser.add_argument(
        "--division", metavar="WEIGHT", help=f'smallest displayed step, such as "1g"{without}'
    )
    parser.add_argument("--class", metavar="CLASS", help="accuracy class on the plate, I to IIII")
    parser.add_argument(
        "--e", metavar="WEIGHT", help="interval e beside it; default: the division"
    )


def read_plate(args: Namespace) -> Scale:
    """What those options say, as far as they were given.

    Raises:
        ConfigError: It cannot be so; names the option.
    """
    from pydantic import ValidationError  # noqa: PLC0415 -- slow imports

    from scaled.core.profile_error import explain  # noqa: PLC0415
    from scaled.core.scale import Scale  # noqa: PLC0415

    options = {key: getattr(args, key) for key in PLATE}
    given = {key: value for key, value in options.items() if value is not None}
    try:
        return Scale.model_validate(given)
    except ValidationError as err:
        key, reason = explain(err, given, {(): Scale})
        raise ConfigError(f"--{key}", "", reason) from err
