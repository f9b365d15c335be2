"""Says what is wrong with a profile in its author's words: which key, why, what to write."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from difflib import get_close_matches
from typing import Any, Final, TypeAlias

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails

from scaled.core.profile_fields import SLUG_PATTERN
from scaled.core.wording import choices, quoted

Tables: TypeAlias = Mapping[tuple[str, ...], type[BaseModel]]
"""The model of each table, by the keys that lead to it (places in lists left out)."""


def explain(error: ValidationError, data: Mapping[str, Any], tables: Tables) -> tuple[str, str]:
    """The place and the reason of the most telling error.

    An unknown key comes first: a misspelt key is why another one is missing.

    Args:
        error: What the model said.
        data: The file's content.
        tables: The model of each table.
    """
    errors = error.errors(include_url=False)
    first = min(errors, key=lambda e: e["type"] != "extra_forbidden")
    *table, key = [""] + [part for part in first["loc"] if isinstance(part, str)]
    kinds = [path[-1] for path in tables if path[:-1] == (*table[1:], key)]
    model = tables.get(tuple(table[1:]))
    reason = _REASONS.get(first["type"], _as_said)(first, _Key(key, model, kinds))
    return _place(first, data), reason


class _Key:
    """The key at fault, and what the contract says about it."""

    def __init__(self, name: str, model: type[BaseModel] | None, kinds: Sequence[str]) -> None:
        fields = model.model_fields if model else {}
        self.name = name
        self.kinds = kinds
        self.siblings = [field.alias or attribute for attribute, field in fields.items()]
        field = next((f for a, f in fields.items() if name == (f.alias or a)), None)
        self.example = _toml(field.examples[0]) if field and field.examples else None

    @property
    def such(self) -> str:
        """How it is written: ``scoops = 3``, or ``[container]`` for a table."""
        return f"{self.name} = {self.example}" if self.example else _HEADERS.get(self.name, "it")


_HEADERS: Final = {
    "container": "a [container] table",
    "finished": "a [finished] table",
    "step": "[[step]] tables, at least one",
    "confirm": "[[confirm]] tables",
    "other_container": "[[other_container]] tables",
    "field": "[[field]] tables",
    "serial": "a [serial] table",
    "poll": "a [poll] table",
    "frame": "a [frame] table",
    "checksum": "a [frame.checksum] table",
}


def _place(error: ErrorDetails, data: Mapping[str, Any]) -> str:
    """Spell a place as its author sees it: ``step 2 (barley), tool, number``."""
    words: list[str] = []
    here: Any = data
    for part in error["loc"]:
        if isinstance(part, int):
            here = here[part]
            words[-1] += f" {part + 1}{_name_of(here)}"
        elif isinstance(here, Mapping) and here.get("kind") == part:
            # The model says which kind of table it took it for, before any of its keys.
            here = {key: value for key, value in here.items() if key != "kind"}
        elif part != "[key]":
            here = here.get(part) if isinstance(here, Mapping) else None
            words.append(quoted(part)[1:-1])
    blamed = error.get("ctx", {}).get("key")
    return ", ".join([*words, blamed] if blamed else words)


def _name_of(entry: object) -> str:
    name = entry.get("id", entry.get("name")) if isinstance(entry, Mapping) else None
    return f" ({quoted(name)[1:-1]})" if isinstance(name, str) else ""


def _unknown_key(_: ErrorDetails, key: _Key) -> str:
    close = get_close_matches(key.name, key.siblings, n=1)
    if close:
        return f"unknown key; did you mean {quoted(close[0])}?"
    return f"unknown key; remove it or use {choices(key.siblings)}"


def _missing(_: ErrorDetails, key: _Key) -> str:
    return f"missing; add {key.such}"


def _wrong_type(error: ErrorDetails, key: _Key) -> str:
    return f"{_shown(error['input'])} is {_NOT[error['type']]}; write {key.such}"


_NOT: Final = {
    "bool_type": "not true or false",
    "int_type": "not a whole number",
    "float_type": "not a number",
    "float_parsing": "not a number",
    "string_type": "not text in quotes",
    "tuple_type": "not a list",
    "dict_type": "not a table",
    "model_type": "not a table",
    "model_attributes_type": "not a table",
}


def _no_choice(error: ErrorDetails, key: _Key) -> str:
    options = error["ctx"]["expected"].replace("'", '"')
    return f"{_shown(error['input'])} is not known; {_mean(error['input'], options)}"


def _no_kind(error: ErrorDetails, key: _Key) -> str:
    kind = error["input"].get("kind") if isinstance(error["input"], Mapping) else None
    options = choices([quoted(kind) for kind in key.kinds])
    if kind is None:
        return f"kind is missing; write kind = {options}"
    return f"kind {_shown(kind)} is not known; {_mean(kind, options)}"


def _mean(written: object, options: str) -> str:
    """What to write instead, the closest option first."""
    close = get_close_matches(str(written), options.split('"')[1::2], n=1)
    return f"did you mean {quoted(close[0])}? (write {options})" if close else f"write {options}"


def _out_of_range(error: ErrorDetails, _: _Key) -> str:
    limits = error["ctx"]
    bound = f"more than {limits['gt']}" if "gt" in limits else f"at most {limits['le']}"
    return f"{_shown(error['input'])} is out of range; write a number of {bound}"


def _bad_text(error: ErrorDetails, _: _Key) -> str:
    if error["ctx"]["pattern"] == SLUG_PATTERN:
        return f"{_shown(error['input'])}: use lower-case letters, digits and single hyphens"
    return f"{_shown(error['input'])}: keep it on one line, without control characters"


def _length(error: ErrorDetails, key: _Key) -> str:
    limits = error["ctx"]
    if "min_length" in limits:
        return f"empty; write {key.such}"
    return f"too long; keep to {limits['max_length']} at most"


def _as_said(error: ErrorDetails, _: _Key) -> str:
    return str(error["msg"]).removeprefix("Value error, ")


def _shown(value: object) -> str:
    """A value as TOML would write it, shortened."""
    if isinstance(value, str):
        return quoted(value)
    if isinstance(value, Mapping | list):
        return "a table" if isinstance(value, Mapping) else "a list"
    if isinstance(value, int) and abs(value) > _LONG:
        return "a number this long"
    return quoted(str(value).lower())[1:-1]


def _toml(value: object) -> str:
    """An example as TOML writes it."""
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {_toml(item)}" for key, item in value.items()) + " }"
    return json.dumps(value)


_LONG: Final = 10**18
"""Python refuses to spell integers of thousands of digits; nobody needs to see them."""

_REASONS: Final[Mapping[str, Callable[[ErrorDetails, _Key], str]]] = {
    "extra_forbidden": _unknown_key,
    "missing": _missing,
    "literal_error": _no_choice,
    "union_tag_invalid": _no_kind,
    "union_tag_not_found": _no_kind,
    "greater_than": _out_of_range,
    "less_than_equal": _out_of_range,
    "string_pattern_mismatch": _bad_text,
    "string_too_short": _length,
    "string_too_long": _length,
    "too_short": _length,
    "too_long": _length,
    **dict.fromkeys(_NOT, _wrong_type),
}
