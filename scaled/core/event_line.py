"""Events as JSON: weights to 1 mg, times to 1 ms, confidences to 1e-4.

So the same readings give the same bytes.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from scaled.core.events import Event

_DIGITS: Final = 3
"""Decimals of what is not a confidence: 1 mg, 1 ms."""
_CONFIDENCE_DIGITS: Final = 4


def event_fields(event: Event) -> dict[str, Any]:
    """The event as plain JSON values, ``event``, ``t`` and ``build`` first, rounded."""
    fields = {
        name: _rounded(name, value) if isinstance(value, float) else value
        for name, value in asdict(event).items()
    }
    return {"event": event.event, **fields}


def _rounded(name: str, value: float) -> float:
    digits = _CONFIDENCE_DIGITS if name == "confidence" else _DIGITS
    return round(value, digits) + 0.0  # never -0.0


def event_line(event: Event) -> str:
    """The event as one line of JSON without the line end."""
    return json.dumps(event_fields(event), ensure_ascii=False, separators=(",", ":"))
