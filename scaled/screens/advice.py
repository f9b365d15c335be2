"""The one thing to do next, as the screen says it."""

from __future__ import annotations

from dataclasses import dataclass

from scaled.screens.marks import Mark


@dataclass(frozen=True, slots=True)
class Advice:
    """The one thing to do next.

    Attributes:
        mark: Its shape and colour.
        headlines: Wordings for large letters, the fullest first; at least one.
        line: The same in one plain line.
    """

    mark: Mark
    headlines: tuple[str, ...]
    line: str
