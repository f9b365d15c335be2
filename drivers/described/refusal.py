"""Why a frame does not fit its description, for whoever writes one."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from drivers.described.number import Number
from drivers.described.pattern import beginning_pattern, frame_pattern
from scaled.core.wording import quoted

if TYPE_CHECKING:
    from drivers.described.model import ScaleFormat


def why_refused(description: ScaleFormat, fields: bytes) -> str:
    """One line: the first field that does not fit what a frame has, and what stands there.

    Args:
        description: Its format.
        fields: What stands between start and end, the checksum left out.
    """
    text = fields.decode("latin-1")
    whole = re.fullmatch(frame_pattern(description), text, re.DOTALL)
    if whole is not None and whole["tail"] is not None:
        return f"{quoted(text)}: {_senseless(description, whole)}"
    known = len(description.fields)
    fitting, at = _fitting(description, text)
    rest = text[at:]
    if fitting == known:
        return f"{quoted(text)}: {quoted(rest)} comes after the last field"
    field = f"field {fitting + 1}, {description.fields[fitting].kind},"
    if not rest:
        return f"{quoted(text)}: it ends before {field[:-1]}"
    return f"{quoted(text)}: {field} does not fit {quoted(rest)}"


def _fitting(description: ScaleFormat, text: str) -> tuple[int, int]:
    """How many of the first fields fit, and where what they describe ends."""
    for count in range(len(description.fields), 0, -1):
        found = re.match(beginning_pattern(description, count), text, re.DOTALL)
        if found is not None:
            return count, found.end()
    return 0, 0


def _senseless(description: ScaleFormat, whole: re.Match[str]) -> str:
    """What is wrong with a frame of which every field fits."""
    at, weight = next((i, f) for i, f in enumerate(description.fields) if f.kind == "weight")
    shown = whole["weight"]
    if shown is not None and Number(weight).read(shown, whole.groupdict().get("places")) is None:
        return f"field {at + 1}, weight: {quoted(shown)} is no number as described"
    return (
        "its fields do not go together: a number where the status says that there is none, no "
        "number without a reason, or one that no kitchen scale shows"
    )
