"""Option values that several commands share, read the same way everywhere.

``whole``, ``number`` and ``one_of`` make converters for argparse's ``type``.
"""

from __future__ import annotations

from argparse import ArgumentTypeError
from collections.abc import Callable, Iterable
from typing import Final

from scaled.core.errors import ConfigError
from scaled.core.wording import choices, quoted

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


def division_g(text: str | None) -> float | None:
    """Grams in the value of ``--division``, such as ``1g`` or ``0.1 oz``; None when not given.

    Raises:
        ConfigError: Not a weight, or not more than zero.
    """
    from scaled.core.units import QuantityError, parse_weight  # noqa: PLC0415 -- slow import

    if text is None:
        return None
    try:
        grams = parse_weight(text)
    except QuantityError as err:
        raise ConfigError("--division", "", str(err)) from err
    if grams <= 0:
        raise ConfigError("--division", "", f'"{text}" must be more than zero')
    return grams
