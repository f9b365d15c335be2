"""The screen as a picture (SVG) that needs no font of its own: block characters are rectangles."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import Final
from xml.sax.saxutils import escape

from rich.segment import Segment
from textual.pilot import Pilot

from tests.screens.stage import segments

WIDE, HIGH = 10, 20
_BLOCKS: Final = {
    "█": (0.0, 1.0, 1.0),
    "▀": (0.0, 0.5, 1.0),
    "▄": (0.5, 0.5, 1.0),
    "▒": (0.0, 1.0, 0.55),
    "░": (0.0, 1.0, 0.25),
}
"""Top and height of each as shares of a row, and how much of its colour it shows."""


def svg(pilot: Pilot[None]) -> str:
    """The whole screen."""
    columns, rows = pilot.app.size
    width, height = columns * WIDE, rows * HIGH
    drawn = [line for row, pieces in enumerate(segments(pilot)) for line in _row(row, pieces)]
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
            f'width="{width}" height="{height}" font-family="monospace" font-size="16">',
            "<title>The cook's screen</title>",
            f'<rect width="{width}" height="{height}"/>',
            *drawn,
            "</svg>\n",
        ]
    )


def _row(row: int, pieces: list[Segment]) -> Iterator[str]:
    column = 0
    for piece in pieces:
        style = piece.style
        ink = style.color.name if style and style.color else "#ffffff"
        ground = style.bgcolor.name if style and style.bgcolor else "#000000"
        bold = bool(style and style.bold)
        if ground != "#000000":
            yield _rect(column, row, len(piece.text), (0.0, 1.0, 1.0), ground)
        at = column
        for kind, run in groupby(piece.text, key=_kind):
            run_text = "".join(run)
            yield from _run(kind, run_text, (at, row), ink, bold=bold)
            at += len(run_text)
        column = at


def _kind(character: str) -> str:
    return character if character in _BLOCKS or character == " " else "text"


def _run(kind: str, text: str, at: tuple[int, int], ink: str, *, bold: bool) -> Iterator[str]:
    column, row = at
    if kind in _BLOCKS:
        yield _rect(column, row, len(text), _BLOCKS[kind], ink)
    elif kind == "text":
        weight = ' font-weight="bold"' if bold else ""
        yield (
            f'<text x="{column * WIDE}" y="{row * HIGH + 15}" textLength="{len(text) * WIDE}" '
            f'lengthAdjust="spacingAndGlyphs" fill="{ink}"{weight}>{escape(text)}</text>'
        )


def _rect(
    column: int, row: int, length: int, block: tuple[float, float, float], colour: str
) -> str:
    top, height, opacity = block
    shade = "" if opacity == 1 else f' fill-opacity="{opacity}"'
    return (
        f'<rect x="{column * WIDE}" y="{(row + top) * HIGH:g}" width="{length * WIDE}" '
        f'height="{height * HIGH:g}" fill="{colour}"{shade} shape-rendering="crispEdges"/>'
    )
