"""Events as JSON: weights to 1 mg, times to 1 ms, confidences to 1e-4.

So the same readings give the same bytes.
"""

from __future__ import annotations

import json
from dataclasses import asdict, fields, replace
from typing import TYPE_CHECKING, Any, Final, TypeVar

if TYPE_CHECKING:
    from scaled.core.events import Event

E = TypeVar("E", bound="Event")

_DIGITS: Final = 3
"""Decimals of what is not a confidence: 1 mg, 1 ms."""
_CONFIDENCE_DIGITS: Final = 4


def event_fields(event: Event) -> dict[str, Any]:
    """The event as plain JSON values, ``event``, ``t`` and ``build`` first, rounded."""
    return {"event": event.event, **asdict(rounded(event))}


def rounded(event: E) -> E:
    """The event with its own numbers as they are written."""
    named = ((field.name, getattr(event, field.name)) for field in fields(event))
    floats: dict[str, Any] = {
        name: _rounded(name, value) for name, value in named if isinstance(value, float)
    }
    return replace(event, **floats)


def _rounded(name: str, value: float) -> float:
    digits = _CONFIDENCE_DIGITS if name == "confidence" else _DIGITS
    return round(value, digits) + 0.0  # never -0.0


def event_line(event: Event) -> str:
    """The event as one line of JSON without the line end."""
    return json.dumps(event_fields(event), ensure_ascii=False, separators=(",", ":"))
