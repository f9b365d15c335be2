"""What the fields of a frame may be, in the order in which they are sent."""

from __future__ import annotations

from typing import Annotated, Final, Literal, Self, TypeAlias

from pydantic import AfterValidator, Field, model_validator

from scaled.core.profile_fields import Table, broken_rule
from scaled.core.wording import quoted

WIDEST: Final = 64
"""Characters in the widest field."""


def _sendable(text: str) -> str:
    if not 1 <= len(text) <= 16 or any(ord(c) > 255 for c in text):
        raise ValueError(
            f'{quoted(text)}: write 1 to 16 characters, each one byte, such as "ST" or "\\u0002"'
        )
    return text


Sent: TypeAlias = Annotated[str, AfterValidator(_sendable)]
"""Bytes as they are sent, one character a byte (ISO 8859-1)."""


def _bit(text: str) -> str:
    if text not in ("0", "1", "2", "3", "4", "5", "6", "7"):
        raise ValueError(f"{quoted(text)} is no bit of a byte; write 0, the lowest, to 7")
    return text


Bit: TypeAlias = Annotated[str, AfterValidator(_bit)]
Width: TypeAlias = Annotated[int, Field(gt=0, le=WIDEST)]

Meaning: TypeAlias = Literal[
    "stable", "unstable", "overload", "underload", "fault", "gross", "net", "negative", "ignored"
]
"""What a status says; ``negative``: the number, sent without a sign, is below zero; ``fault``:
the scale is faulty or must be calibrated."""

NoWeight: TypeAlias = Literal["overload", "underload", "fault", "blank"]
"""What stands in the number's place; ``blank``: another field says why."""

UnitWord: TypeAlias = Literal["g", "kg", "oz", "lb"]

UnitOrNone: TypeAlias = Literal["g", "kg", "oz", "lb", "none"]
"""``none``: what stands there while the scale names no unit, as some do in motion."""


class TextField(Table):
    """The same bytes in every frame, such as a comma."""

    kind: Literal["text"] = Field(examples=["text"])
    text: Sent = Field(examples=[","])


class GapField(Table):
    """One or more spaces; with ``width``, exactly so many."""

    kind: Literal["gap"] = Field(examples=["gap"])
    width: Width | None = Field(default=None, examples=[8])


class SkipField(Table):
    """Bytes of no interest: ``width`` of them or, without, any up to the text that follows."""

    kind: Literal["skip"] = Field(examples=["skip"])
    width: Width | None = Field(default=None, examples=[8])


class StatusField(Table):
    """One of some words, each with its meaning."""

    kind: Literal["status"] = Field(examples=["status"])
    words: dict[Sent, Meaning] = Field(min_length=1, examples=[{"ST": "stable", "US": "unstable"}])


class BitsField(Table):
    """One byte of flags: bit 0 is the lowest; a bit's meaning holds while it is set.

    While a bit that means unstable is clear the weight is stable, and the other way round.
    """

    kind: Literal["bits"] = Field(examples=["bits"])
    bits: dict[Bit, Meaning] = Field(min_length=1, examples=[{"0": "overload", "3": "unstable"}])


class WeightField(Table):
    """The number shown.

    Attributes:
        kind: ``weight``.
        width: Columns it always fills, its sign among them; None: as many as it needs.
        align: Where a number shorter than its width stands; zeros may pad it on the left.
        sign: ``leading``, right before the digits; ``column``, in the first column, whatever
            pads the number after it; ``trailing``, right after the digits, with a width in a
            column of its own; ``none``.
        plus: What marks a number that is not negative: ``+``, a space or nothing (`` ``), or
            ``either``.
        decimal: The decimal sign, or ``none`` when it is only understood.
        places: With ``decimal = "none"``, how many of the digits are decimals.
        unit: The unit, where no field says it; None with no unit field: never said.
        words: What may stand in the number's place instead; spaces around it do not count.
    """

    kind: Literal["weight"] = Field(examples=["weight"])
    width: Width | None = Field(default=None, examples=[8])
    align: Literal["right", "left"] = "right"
    sign: Literal["leading", "column", "trailing", "none"] = "leading"
    plus: Literal["+", " ", "either"] = "either"
    decimal: Literal[".", ",", "none"] = "."
    places: int = Field(default=0, ge=0, le=6, examples=[1])
    unit: UnitWord | None = None
    words: dict[Sent, NoWeight] = Field(default={}, examples=[{"------": "overload"}])

    @model_validator(mode="after")
    def _places_are_understood(self) -> Self:
        if self.places and self.decimal != "none":
            raise broken_rule("places", 'only with decimal = "none"; the sign tells otherwise')
        return self


class PlacesField(Table):
    """One digit: how many of the number's digits are decimals."""

    kind: Literal["places"] = Field(examples=["places"])


class UnitField(Table):
    """The unit's name.

    Attributes:
        kind: ``unit``.
        words: How each unit is spelled, to the letter; by default g, kg, oz and lb in any case.
        width: Columns it always fills; None: as many as it needs.
        align: Where a name shorter than its width stands.
    """

    kind: Literal["unit"] = Field(examples=["unit"])
    words: dict[Sent, UnitOrNone] = Field(default={}, examples=[{"GRM": "g", "   ": "none"}])
    width: Width | None = Field(default=None, examples=[8])
    align: Literal["right", "left"] = "left"


Part: TypeAlias = Annotated[
    TextField
    | GapField
    | SkipField
    | StatusField
    | BitsField
    | WeightField
    | PlacesField
    | UnitField,
    Field(discriminator="kind"),
]
"""Any field of a frame."""

KINDS: Final[dict[str, type[Table]]] = {
    "text": TextField,
    "gap": GapField,
    "skip": SkipField,
    "status": StatusField,
    "bits": BitsField,
    "weight": WeightField,
    "places": PlacesField,
    "unit": UnitField,
}
"""The fields' models by their kind."""
