"""Takes apart what stands before or after the number: fields in the order in which they are sent."""

from __future__ import annotations

import re
from itertools import groupby
from typing import TYPE_CHECKING, Any, Final

from drivers.learning.meaning import bits_field, skip_field, status_field, unit_field

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from drivers.learning.context import Context

_TOKEN: Final = re.compile(r" +|[,;/|]|[^ ,;/|]+")
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
        return [
            field
            for group in _column_groups(texts, places_at)
            for field in _group_fields(group, context, places=group is not None)
        ]
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


def _group_fields(words: Sequence[str], context: Context, *, places: bool) -> Fields:
    if places and words[0].startswith(_PLACES):
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


def _literal(text: str) -> Iterator[dict[str, Any]]:
    """What is always the same; a unit's name in it is the unit."""
    for piece in _pieces(text):
        for at in range(0, len(piece), _LONGEST_TEXT):
            yield {"kind": "text", "text": piece[at : at + _LONGEST_TEXT]}


def _pieces(text: str) -> Iterator[str]:
    if text:
        yield text


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
                for field in _group_fields(group, context, places=False)
            ]
        else:
            fields.append(_varying(words, context))
    return fields


def _shape(token: str) -> str:
    return " " if token.isspace() else token if token in ",;/|" else "w"


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
    return [next(group) for key, group in _runs(free)] if free else free


def _runs(fields: Fields) -> Iterator[tuple[str, Iterator[dict[str, Any]]]]:
    """Fields, several gaps in a row as one."""
    for index, (key, group) in enumerate(
        groupby(enumerate(fields), lambda pair: "gap" if pair[1]["kind"] == "gap" else str(pair[0]))
    ):
        del index
        yield key, (field for _, field in group)
