"""The kinds of value a build profile holds: quantities with their unit, ids, lines of text."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Final

from pydantic import BaseModel, ConfigDict, PlainValidator, StringConstraints, WithJsonSchema
from pydantic.fields import ComputedFieldInfo, FieldInfo
from pydantic_core import PydanticCustomError

from scaled.core.units import (
    DENSITY,
    VOLUME,
    WEIGHT,
    Grams,
    Kind,
    parse_density,
    parse_volume,
    parse_weight,
)
from scaled.core.wording import quoted

SLUG_PATTERN: Final = r"^[a-z0-9]+(-[a-z0-9]+)*$"
LINE_PATTERN: Final = r"^[^\x00-\x1f\x7f-\x9f\u2028\u2029]+$"
"""Nothing that breaks the line or that a terminal would obey."""


def broken_rule(key: str, reason: str) -> PydanticCustomError:
    """The error of a rule that spans keys, blamed on one ``key`` of the table."""
    return PydanticCustomError("rule", "{reason}", {"key": key, "reason": reason})


def _quantity(
    parse: Callable[[str], float], kind: Kind, *, zero: bool = False
) -> tuple[PlainValidator, WithJsonSchema]:
    such = f"write {kind.name} such as {quoted(kind.example)}"

    def read(value: object) -> float:
        if not isinstance(value, str):
            raise ValueError(f"{kind.name} goes in quotes with its unit; {such}")  # noqa: TRY004
        quantity = parse(value)
        if quantity < 0:
            raise ValueError(f"{quoted(value)} is below zero; {such}")
        if quantity == 0 and not zero:
            raise ValueError(f"{quoted(value)} must be more than zero; {such}")
        return quantity

    return PlainValidator(read), WithJsonSchema({"type": "string", "pattern": kind.pattern})


Weight = Annotated[Grams, *_quantity(parse_weight, WEIGHT)]
Tolerance = Annotated[Grams, *_quantity(parse_weight, WEIGHT, zero=True)]
Volume = Annotated[float, *_quantity(parse_volume, VOLUME)]
Density = Annotated[float, *_quantity(parse_density, DENSITY)]
Slug = Annotated[str, StringConstraints(pattern=SLUG_PATTERN, max_length=64)]
Line = Annotated[
    str,
    StringConstraints(strip_whitespace=True, min_length=1, max_length=200, pattern=LINE_PATTERN),
]


def _title(name: str, field: FieldInfo | ComputedFieldInfo) -> str:
    """The key as the author writes it, rather than the attribute's name."""
    return field.alias or name


class Table(BaseModel):
    """A table of the file: no unknown keys, no guessed types, never changed once read."""

    model_config = ConfigDict(
        extra="forbid", frozen=True, strict=True, field_title_generator=_title
    )
