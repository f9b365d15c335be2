"""Writes down one possible format: a framing, a checksum and a place of the number, in full."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pydantic import ValidationError

from drivers.described.field import WeightField
from drivers.described.model import ScaleFormat
from drivers.described.number import Number
from drivers.learning.context import context_of
from drivers.learning.parts import fields_of, in_free_form, is_even, with_constant_unit

if TYPE_CHECKING:
    from collections.abc import Sequence

    from drivers.described.model import Checksum
    from drivers.learning.context import Context
    from drivers.learning.cutting import Framing
    from drivers.learning.sheet import Rest, Sheet
    from drivers.learning.window import Window

SUMMARY = "learnt from what one scale sent"


def describe(
    framing: Framing,
    checksum: Checksum | None,
    sheet: Sheet,
    window: Window,
    rests: Sequence[Rest],
) -> ScaleFormat | None:
    """The description with the number in that window; None when the rest has no order."""
    spans = {
        i: span
        for i, text in enumerate(sheet.texts)
        if window.read(text) and (span := window.span(text))
    }
    context = context_of(sheet, window, rests).only(list(spans))
    before = [sheet.texts[i][: span[0]] for i, span in spans.items()]
    numbers = [sheet.texts[i][slice(*span)] for i, span in spans.items()]
    after = [sheet.texts[i][span[1] :] for i, span in spans.items()]
    weight = weight_field(window, numbers)
    head = fields_of(before, context, None)
    tail = fields_of(after, context, window.places_at)
    if weight is None or head is None or tail is None:
        return None
    free = window.nth is not None or not (is_even(before) and is_even(after))
    fields = with_constant_unit([*head, _with_unit(weight, [*head, *tail], context), *tail])
    frame = framing.table() | ({} if free else {"spaces": "fixed"})
    if checksum:
        frame["checksum"] = checksum
    return _valid(
        {
            "schema": 1,
            "summary": SUMMARY,
            "frame": frame,
            "field": in_free_form(fields) if free else fields,
        }
    )


def weight_field(window: Window, numbers: Sequence[str]) -> dict[str, Any] | None:
    """The weight field that reads all these numbers, written as they stand in the frames."""
    distinct = sorted(set(numbers))
    points = {char for number in distinct for char in number if char in ".,"}
    if len(points) > 1:
        return None
    field: dict[str, Any] = {"kind": "weight"}
    if window.nth is None:
        field["width"] = len(distinct[0])
        if _is_left_aligned(distinct):
            field["align"] = "left"
    if points:
        field["decimal"] = points.pop()
    elif window.places or window.places_at is not None:
        field |= {"decimal": "none", "places": window.places}
    places = None if window.places_at is None else "0"
    for sign in _signs(distinct):
        written = field | {"sign": sign}
        number = Number(WeightField.model_validate(written))
        if all(isinstance(number.read(text, places), float) for text in distinct):
            return written
    return None


def _is_left_aligned(numbers: Sequence[str]) -> bool:
    ends = any(number.endswith(" ") for number in numbers)
    return ends and not any(number.startswith(" ") for number in numbers) and not _trails(numbers)


def _trails(numbers: Sequence[str]) -> bool:
    """Whether a sign stands after the digits."""
    return any(number.rstrip(" ").endswith(("-", "+")) for number in numbers)


def _signs(numbers: Sequence[str]) -> tuple[str, ...]:
    """Where the sign may be, the safest first."""
    return ("trailing",) if _trails(numbers) else ("leading", "column", "none")


def _with_unit(
    weight: dict[str, Any], others: Sequence[dict[str, Any]], context: Context
) -> dict[str, Any]:
    """The same with the one unit it was in, where nothing in the frame says the unit."""
    units = {unit for unit in context.units if unit is not None}
    named = any(field["kind"] == "unit" for field in with_constant_unit(list(others)))
    if len(units) != 1 or named:
        return weight
    return weight | {"unit": min(units).value}


def _valid(table: dict[str, Any]) -> ScaleFormat | None:
    """The description, None when it breaks a rule, such as one against ambiguity."""
    try:
        return ScaleFormat.model_validate(table)
    except ValidationError:
        return None
