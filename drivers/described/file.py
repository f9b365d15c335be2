"""Descriptions as TOML: read strictly, and written so that they read back the same."""

from __future__ import annotations

import json
import re
import tomllib
from typing import TYPE_CHECKING, Any, Final

from pydantic import ValidationError

from drivers.described.model import TABLES, ScaleFormat
from scaled.core.errors import ConfigError
from scaled.core.profile_error import explain

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping
    from pathlib import Path

_LARGEST: Final = 64 * 1024
"""Bytes in the largest file looked at; a long description has two thousand."""


def read_format(path: Path) -> ScaleFormat:
    """The description in a file.

    Raises:
        ConfigError: It cannot be read or breaks the contract; names file, line, key and reason.
    """
    try:
        with path.open("rb") as file:
            data = file.read(_LARGEST + 1)
        if len(data) > _LARGEST:
            raise ConfigError(str(path), "", f"no description: longer than {_LARGEST} bytes")
        return parse_format(data.decode(), str(path))
    except OSError as err:
        raise ConfigError(str(path), "", f"cannot be read: {err.strerror}") from err
    except UnicodeDecodeError as err:
        raise ConfigError(str(path), "", f"not readable as TOML: {err}") from err


def parse_format(text: str, where: str) -> ScaleFormat:
    """The description in a TOML text that came from ``where``.

    Raises:
        ConfigError: It breaks the contract; names place, line, key and reason.
    """
    data: dict[str, Any] = {}
    try:
        data = tomllib.loads(text)
        return ScaleFormat.model_validate(data)
    except tomllib.TOMLDecodeError as err:
        raise ConfigError(where, "", f"not readable as TOML: {err}") from err
    except RecursionError as err:
        raise ConfigError(where, "", "not readable as TOML: nested too deeply") from err
    except ValidationError as err:
        key, reason = explain(err, data, TABLES)
        line = _line_of(key, text)
        raise ConfigError(where, f"line {line}, {key}" if line else key, reason) from err


def format_toml(description: ScaleFormat) -> str:
    """The description as TOML, without what is as by default; it reads back the same."""
    data = description.model_dump(by_alias=True, exclude_defaults=True, mode="json")
    # A field's kind has no default, but schema and the tables' order are part of the form.
    plain = {key: value for key, value in data.items() if not isinstance(value, dict | list)}
    lines = [*_pairs({"schema": 1, **plain})]
    for name in ("serial", "poll", "frame"):
        if table := data.get(name):
            lines += _table(name, table)
    for field in data["field"]:
        lines += ["", "[[field]]", *_pairs(field)]
    return "\n".join(lines) + "\n"


def _table(name: str, table: Mapping[str, Any]) -> Iterator[str]:
    yield from ("", f"[{name}]")
    yield from _pairs({key: value for key, value in table.items() if not isinstance(value, dict)})
    for key, inner in table.items():
        if isinstance(inner, dict):
            yield from _table(f"{name}.{key}", inner)


def _pairs(table: Mapping[str, Any]) -> Iterator[str]:
    for key, value in table.items():
        yield f"{key} = {_value(value)}"


def _value(value: object) -> str:
    if isinstance(value, dict):
        inner = ", ".join(f"{json.dumps(key)} = {_value(item)}" for key, item in value.items())
        return f"{{ {inner} }}"
    if isinstance(value, list):
        return f"[{', '.join(map(_value, value))}]"
    # TOML's basic strings, numbers and truths are written as JSON's are, but for DEL.
    return json.dumps(value).replace("\x7f", "\\u007f")


def _line_of(key: str, text: str) -> int:
    """The line of ``field 2, width`` or ``frame, end``: its table's when it has none; else 0."""
    words = [word.split(" (")[0] for word in key.split(", ")]
    lines = text.splitlines()
    at = 0
    for depth, word in enumerate(words):
        name, _, count = word.partition(" ")
        header = ".".join([*words[:depth], name]) if depth else name
        found = _nth(_header(header), lines, at, int(count or 1)) or _nth(_key(name), lines, at, 1)
        at = found or at
    return at


def _header(name: str) -> re.Pattern[str]:
    return re.compile(rf"\s*\[{{1,2}}\s*{re.escape(name)}\s*\]")


def _key(name: str) -> re.Pattern[str]:
    return re.compile(rf"""\s*["']?{re.escape(name)}["']?\s*[=.]""")


def _nth(pattern: re.Pattern[str], lines: list[str], after: int, count: int) -> int:
    """The number, from 1, of the nth line after so many that begins so; 0 when there is none."""
    found = [n for n, line in enumerate(lines, 1) if n > after and pattern.match(line)]
    return found[count - 1] if len(found) >= count else 0
