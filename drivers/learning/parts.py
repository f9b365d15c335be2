"""Takes apart what stands before or after the number: its fields, in order."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any, Final

from drivers.learning.meaning import bits_field, skip_field, status_field, unit_field

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from drivers.learning.context import Context

_SEPARATORS: Final = ",;/|"
_TOKEN: Final = re.compile(rf" +|[{_SEPARATORS}]|[^ {_SEPARATORS}]+")
_UNIT: Final = re.compile(r"(?<![A-Za-z])(kg|g|oz|lb)(?![A-Za-z])", re.IGNORECASE)
_LONGEST_TEXT: Final = 16

Fields = list[dict[str, Any]]


def is_even(texts: Sequence[str]) -> bool:
    """Whether all are as long, so that columns can be compared."""
    return len(set(map(len, texts))) <= 1


def fields_of(texts: Sequence[str], context: Context, places_at: int | None) -> Fields | None:
    """The fields of what stands on one side of the number, one text a frame.

    ``places_at``: the column of the digit that tells the number's decimals. None when the texts
    have nothing in common.
    """
    if is_even(texts):
        groups = _column_groups(texts, places_at)
        return _counters_whole([f for group in groups for f in _group_fields(group, context)])
    return _token_fields(texts, context)


def _column_groups(texts: Sequence[str], places_at: int | None) -> list[list[str]]:
    """Columns that belong together, each as one word a frame.

    Columns that never change are together; one that changes belongs to the one before when either
    tells the other, as the letters of two words do.
    """
    groups: list[list[str]] = []
    for at in range(len(texts[0]) if texts else 0):
        column = [text[at] for text in texts]
        alone = places_at is not None and at in (places_at, places_at + 1)
        if groups and not alone and _together(groups[-1], column):
            groups[-1] = [a + b for a, b in zip(groups[-1], column, strict=True)]
        else:
            groups.append([_PLACES + char for char in column] if at == places_at else column)
    return groups


_PLACES: Final = "\uffff"
"""Marks the column of the digit of places; no byte is read as it."""


def _together(group: Sequence[str], column: Sequence[str]) -> bool:
    if group[0].startswith(_PLACES):
        return False
    before, after = len(set(group)), len(set(column))
    if before == 1 or after == 1:
        return before == after
    joined = len(set(zip(group, column, strict=True)))
    letters = all(word.replace(" ", "a").isalpha() for word in {*group, *column})
    # Flags may tell what a letter beside them says, and more; letters that do are of one word.
    return joined == (max(before, after) if letters else min(before, after))


def _group_fields(words: Sequence[str], context: Context) -> Fields:
    if words[0].startswith(_PLACES):
        return [{"kind": "places"}]
    if len(set(words)) == 1:
        return list(_literal(words[0]))
    return [_varying(words, context)]


def _varying(words: Sequence[str], context: Context) -> dict[str, Any]:
    field = (
        unit_field(words, context)
        or bits_field(words, context)
        or status_field(words, context)
        or skip_field(words)
    )
    return field or {"kind": "skip"}


def _counters_whole(fields: Fields) -> Fields:
    """The same with the leading digits of a running number, still constant, in its skip."""
    whole: Fields = []
    for one in fields:
        field = one
        while field["kind"] == "skip" and whole and (digits := _digits_at_end(whole[-1])):
            last = whole.pop()
            field = {"kind": "skip", "width": field["width"] + digits}
            if last["kind"] == "text" and len(last["text"]) > digits:
                whole.append(last | {"text": last["text"][:-digits]})
                break
        whole.append(field)
    return whole


def _digits_at_end(field: dict[str, Any]) -> int:
    """How many columns of a running number this may be the front of."""
    if field["kind"] == "skip":
        return int(field["width"])
    if field["kind"] == "text":
        text: str = field["text"]
        return len(text) - len(text.rstrip("0123456789"))
    # That a digit came late in the lesson, when the tare was on, says nothing.
    words = field.get("words", {}) if field["kind"] == "status" else {}
    late = set(words.values()) <= {"gross", "net", "ignored"}
    return len(next(iter(words))) if words and late and all(map(str.isdigit, words)) else 0


def _literal(text: str) -> Iterator[dict[str, Any]]:
    """What is always the same."""
    for at in range(0, len(text), _LONGEST_TEXT):
        yield {"kind": "text", "text": text[at : at + _LONGEST_TEXT]}


def _token_fields(texts: Sequence[str], context: Context) -> Fields | None:
    """Fields between spaces and separators, where their widths differ from frame to frame."""
    split = [_TOKEN.findall(text) for text in texts]
    shapes = {tuple(map(_shape, tokens)) for tokens in split}
    if len(shapes) != 1:
        return None
    fields: Fields = []
    for words in zip(*split, strict=True):
        if _shape(words[0]) == " ":
            fields.append({"kind": "gap"})
        elif len(set(words)) == 1:
            fields += _literal(words[0])
        elif is_even(words):
            fields += [
                field
                for group in _column_groups(words, None)
                for field in _group_fields(group, context)
            ]
        else:
            fields.append(_varying(words, context))
    return fields


def _shape(piece: str) -> str:
    return " " if piece.isspace() else piece if piece in _SEPARATORS else "w"


def with_constant_unit(fields: Fields) -> Fields:
    """The same, with a unit's name that was always the same as the unit."""
    if any(field["kind"] == "unit" for field in fields):
        return fields
    for at, field in enumerate(fields):
        found = _UNIT.search(field["text"]) if field["kind"] == "text" else None
        if found is not None:
            text = field["text"]
            around = [text[: found.start()], None, text[found.end() :]]
            new = [
                {"kind": "unit"} if part is None else {"kind": "text", "text": part}
                for part in around
                if part != ""
            ]
            return [*fields[:at], *new, *fields[at + 1 :]]
    return fields


def in_free_form(fields: Fields) -> Fields:
    """The same for frames in which spaces are free: at the ends of a text they are gaps."""
    free: Fields = []
    for field in fields:
        text = field.get("text", "") if field["kind"] == "text" else ""
        if not text or text == text.strip(" "):
            free.append(field)
            continue
        core = text.strip(" ")
        lead, tail = text.startswith(" "), bool(core) and text.endswith(" ")
        free += [{"kind": "gap"}] * lead
        free += [{"kind": "text", "text": core}] if core else []
        free += [{"kind": "gap"}] * tail
    return [
        field
        for i, field in enumerate(free)
        if field["kind"] != "gap" or i == 0 or free[i - 1]["kind"] != "gap"
    ]
