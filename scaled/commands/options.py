"""Options that several commands share, read the same way everywhere."""

from __future__ import annotations

from scaled.core.errors import ConfigError


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
