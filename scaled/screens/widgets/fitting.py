"""Text made to fit its place; whatever is left out is marked by an ellipsis."""

from __future__ import annotations

import textwrap


def shortened(text: str, width: int) -> str:
    """The text on one line of at most so many columns."""
    return text if len(text) <= width else f"{text[: max(0, width - 1)]}…"


def fitted(text: str, width: int, rows: int) -> list[str]:
    """The text on at most so many lines of so many columns; no lines for no text."""
    lines = textwrap.wrap(text, max(1, width))
    if len(lines) <= rows:
        return lines
    kept = lines[: max(0, rows)]
    return [*kept[:-1], f"{kept[-1][: width - 1].rstrip(' .,;')}…"] if kept else []
