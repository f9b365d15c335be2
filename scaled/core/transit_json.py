"""Reads a build on its way to another scale from JSON; the engine itself needs none of this."""

from __future__ import annotations

from pydantic import TypeAdapter

from scaled.core.transit import Transit

_READER: TypeAdapter[Transit] = TypeAdapter(Transit)


def parse_transit(data: object) -> Transit:
    """Read one from its JSON values.

    Raises:
        ValueError: Something is missing or out of range.
    """
    return _READER.validate_python(data)
