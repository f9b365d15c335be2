"""Learns a description from a lesson: tries what may be, and keeps what reads the lesson best."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

from pydantic import ValidationError

from drivers.described.decoder import decoder_maker
from drivers.described.field import WeightField
from drivers.described.model import ScaleFormat
from drivers.described.number import Number
from drivers.learning.checks import checked, find_checksum
from drivers.learning.context import Context, context_of
from drivers.learning.cutting import framings
from drivers.learning.lesson import Deed
from drivers.learning.parts import fields_of, in_free_form, is_even, with_constant_unit
from drivers.learning.sheet import Sheet
from drivers.learning.verdict import Verdict, judge
from drivers.learning.window import Window, find_windows

if TYPE_CHECKING:
    from drivers.described.model import Checksum
    from drivers.learning.cutting import Framing
    from drivers.learning.lesson import Lesson
    from drivers.learning.sheet import Rest
    from scaled.core.reading import Unit

_MOST_DATA: Final = 256 * 1024
"""Bytes looked at; a lesson of a minute at a fast scale has 60,000."""

_TRIED: Final = 6
"""Places of the number tried for each way to cut the stream."""


@dataclass(frozen=True, slots=True)
class Learnt:
    """What was learnt.

    Attributes:
        description: The format.
        verdict: How well it reads the lesson.
    """

    description: ScaleFormat
    verdict: Verdict


def learn(lesson: Lesson) -> Learnt | None:
    """The description that reads this lesson best; None when there is none.

    Never raises on any bytes. The same lesson gives the same description.
    """
    if not lesson.data or len(lesson.data) > _MOST_DATA:
        return None
    best: Learnt | None = None
    for description in _descriptions(lesson):
        verdict = judge(lesson, decoder_maker(description)(), description)
        if verdict.reads and (best is None or verdict.score > best.verdict.score):
            best = Learnt(description, verdict)
    return best


def _descriptions(lesson: Lesson) -> Iterator[ScaleFormat]:
    for framing in framings(lesson.data):
        checksum = find_checksum(framing)
        for sheet in _sheets(lesson, framing, checksum):
            rests = sheet.rests()
            if len({rest.phase for rest in rests}) < len(lesson.phases):
                continue
            for window in find_windows(sheet, rests)[:_TRIED]:
                description = _described(framing, checksum, sheet, window, rests)
                if description is not None:
                    yield description


def _sheets(
    lesson: Lesson, framing: Framing, checksum: Checksum | None
) -> Iterator[Sheet]:
    """The frames whose checksum is right, and those of the usual length alone."""
    frames = checked(framing, checksum)
    phases = lesson.phases_at([frame.ends_at - 1 for frame in frames])
    whole = Sheet([frame.text for frame in frames], [lesson.phases[at] for at in phases])
    if whole.texts:
        yield whole


def _described(
    framing: Framing,
    checksum: Checksum | None,
    sheet: Sheet,
    window: Window,
    rests: Sequence[Rest],
) -> ScaleFormat | None:
    context = context_of(sheet, window, rests)
    spans = [window.span(text) if window.read(text) else None for text in sheet.texts]
    kept = [i for i, span in enumerate(spans) if span is not None]
    context = _only(context, kept)
    split = [(sheet.texts[i], span) for i in kept if (span := spans[i]) is not None]
    before = [text[: span[0]] for text, span in split]
    after = [text[span[1] :] for text, span in split]
    numbers = [text[slice(*span)] for text, span in split]
    weight = _weight(window, numbers)
    head, tail = fields_of(before, context, None), fields_of(after, context, window.places_at)
    if weight is None or head is None or tail is None:
        return None
    free = not (is_even(before) and is_even(after) and window.nth is None)
    fields = with_constant_unit([*head, weight, *tail])
    fields = _with_unit(fields, weight, context, rests)
    table = {
        "schema": 1,
        "summary": "learnt from what a scale sent",
        "frame": {
            **framing.table(),
            **({} if free else {"spaces": "fixed"}),
            **({"checksum": checksum} if checksum else {}),
        },
        "field": in_free_form(fields) if free else fields,
    }
    return _valid(table)


def _valid(table: dict[str, Any]) -> ScaleFormat | None:
    try:
        return ScaleFormat.model_validate(table)
    except ValidationError:
        return None


def _only(context: Context, kept: Sequence[int]) -> Context:
    """The context of some of the frames."""
    return Context(
        [context.moves[i] for i in kept],
        [context.units[i] for i in kept],
        [context.below[i] for i in kept],
        [context.tared[i] for i in kept],
        [context.magnitudes[i] for i in kept],
    )


def _with_unit(
    fields: list[dict[str, Any]], weight: dict[str, Any], context: Context, rests: Sequence[Rest]
) -> list[dict[str, Any]]:
    """The same with the one unit it was in, where no field says the unit."""
    units: set[Unit] = {unit for unit in context.units if unit is not None}
    if len(units) != 1 or any(field["kind"] == "unit" for field in fields):
        return fields
    del rests
    return [field | {"unit": min(units).value} if field is weight else field for field in fields]


def _weight(window: Window, numbers: Sequence[str]) -> dict[str, Any] | None:
    """The weight field that reads all these numbers, written as they stand in the frames."""
    distinct = sorted(set(numbers))
    field: dict[str, Any] = {"kind": "weight"}
    if window.nth is None:
        field["width"] = len(distinct[0])
        if any(number != number.rstrip(" ") and number[-1] == " " for number in distinct) and all(
            number[0] != " " for number in distinct
        ):
            field["align"] = "left"
    points = {char for number in distinct for char in number if char in ".,"}
    if len(points) > 1:
        return None
    if points:
        field["decimal"] = points.pop()
    elif window.places or window.places_at is not None:
        field["decimal"] = "none"
        if window.places:
            field["places"] = window.places
    for sign in _signs(distinct):
        written = field | {"sign": sign}
        if sign == "trailing":
            written.pop("align", None)
        number = Number(WeightField.model_validate(written))
        places = "0" if window.places_at is not None else None
        if all(isinstance(number.read(text, places), float) for text in distinct):
            return written
    return None


def _signs(numbers: Sequence[str]) -> tuple[str, ...]:
    if any(number.rstrip(" ")[-1:] in ("-", "+") for number in numbers):
        return ("trailing",)
    return ("leading", "column", "none")


__all__ = ["Deed", "Learnt", "learn"]
