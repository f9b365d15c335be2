"""Letters and digits drawn large from block characters; the shapes are this project's own.

A glyph is five pixel rows tall, six for the few that reach below the line. Sizes:

====  ==================================  =============
size  one pixel is                        rows of text
====  ==================================  =============
0     half a character (upper or lower)   3
n     2n columns by n rows, n from 1      5n or 6n
====  ==================================  =============
"""

from __future__ import annotations

from collections.abc import Sequence
from types import MappingProxyType
from typing import Final

_ROWS: Final = 6
_GAP: Final = 1
SOLID: Final = "█"
FADED: Final = "░"
"""Pixels of a number that is no longer true: open to the eye, in one colour too."""


def _glyphs(drawn: str) -> dict[str, tuple[str, ...]]:
    """Read glyphs written one a line: the character, then its pixel rows."""
    glyphs = {}
    for line in drawn.strip().splitlines():
        character, *rows = line.split()
        filled = [*rows, *["." * len(rows[0])] * (_ROWS - len(rows))]
        glyphs[character] = tuple(filled)
    return glyphs


_FONT: Final = MappingProxyType(
    {
        " ": (".",) * _ROWS,
        **_glyphs(
            """
            0 ### #.# #.# #.# ###
            1 .#. ##. .#. .#. ###
            2 ### ..# ### #.. ###
            3 ### ..# .## ..# ###
            4 #.# #.# ### ..# ..#
            5 ### #.. ### ..# ###
            6 ### #.. ### #.# ###
            7 ### ..# ..# ..# ..#
            8 ### #.# ### #.# ###
            9 ### #.# ### ..# ###
            A .#. #.# ### #.# #.#
            B ##. #.# ##. #.# ##.
            C .## #.. #.. #.. .##
            D ##. #.# #.# #.# ##.
            E ### #.. ##. #.. ###
            F ### #.. ##. #.. #..
            G .### #... #.## #..# .###
            H #.# #.# ### #.# #.#
            I # # # # #
            J ..# ..# ..# #.# .#.
            K #..# #.#. ##.. #.#. #..#
            L #.. #.. #.. #.. ###
            M #...# ##.## #.#.# #...# #...#
            N #..# ##.# #.## #..# #..#
            O ### #.# #.# #.# ###
            P ##. #.# ##. #.. #..
            Q ### #.# #.# ### ..#
            R ##. #.# ##. #.# #.#
            S .## #.. .#. ..# ##.
            T ### .#. .#. .#. .#.
            U #.# #.# #.# #.# ###
            V #.# #.# #.# #.# .#.
            W #...# #...# #.#.# ##.## #...#
            X #.# #.# .#. #.# #.#
            Y #.# #.# .#. .#. .#.
            Z ### ..# .#. #.. ###
            g .... .### #..# .### ...# ###.
            o ... ### #.# #.# ###
            z .... #### ..#. .#.. ####
            . . . . . #
            , .. .. .. .# .# #.
            : . # . # .
            - ... ... ### ... ...
            + ..#.. ..#.. ##### ..#.. ..#..
            ? ### ..# .#. ... .#.
            ! # # # . #
            > #... .#.. ..#. .#.. #...
            / ..# ..# .#. #.. #..
            & .#.. #.#. .#.. #.## .##.
            ' # # . . .
            % #.# ..# .#. #.. #.#
            ↓ ..#.. ..#.. ##### .###. ..#..
            ▲ ..#.. ..#.. .###. .###. #####
            ● .###. ##### ##### ##### .###.
            ■ ##### ##### ##### ##### #####
            … ##### .#.#. ..#.. .#.#. #####
            \u00d7 #...# .#.#. ..#.. .#.#. #...#
            """
        ),
    }
)


def drawable(text: str) -> bool:
    """Whether every character has a glyph."""
    return all(character in _FONT for character in text)


def columns(text: str, size: int) -> int:
    """Width of the drawn text in columns."""
    pixels = sum(len(_FONT[character][0]) + _GAP for character in text) - _GAP
    return max(0, pixels) * max(1, 2 * size)


def rows(text: str, size: int) -> int:
    """Height of the drawn text in rows."""
    if size == 0:
        return _ROWS // 2
    below = any("#" in _FONT[character][-1] for character in text)
    return (_ROWS if below else _ROWS - 1) * size


def draw(text: str, size: int, pixel: str = SOLID) -> list[str]:
    """Draw drawable text: lines of equal length, top first.

    Args:
        text: What to draw.
        size: See the module's table.
        pixel: Character for a set pixel, from size 1 up.
    """
    gap = "." * _GAP
    pixels = [gap.join(_FONT[character][row] for character in text) for row in range(_ROWS)]
    if size == 0:
        return halves(pixels)
    wide = ["".join((pixel if dot == "#" else " ") * 2 * size for dot in row) for row in pixels]
    return [line for line in wide for _ in range(size)][: rows(text, size)]


def halves(pixels: Sequence[str]) -> list[str]:
    """Draw an even number of pixel rows (``#`` is set) as half as many rows of text."""
    return [
        "".join(_HALF[pair] for pair in zip(upper, lower, strict=True))
        for upper, lower in zip(pixels[::2], pixels[1::2], strict=True)
    ]


_HALF: Final = MappingProxyType(
    {("#", "#"): "█", ("#", "."): "▀", (".", "#"): "▄", (".", "."): " "}
)


def largest(texts: Sequence[str], width: int, height: int) -> tuple[str, int] | None:
    """The first text that fits, and the largest size it fits in.

    Args:
        texts: Wordings of one thing, the best first.
        width: Columns there are.
        height: Rows there are.

    Returns:
        Text and size, or None when no wording can be drawn there.
    """
    for text in texts:
        sizes = [size for size in range(height // 5 + 1) if _fits(text, size, width, height)]
        if drawable(text) and sizes:
            return text, sizes[-1]
    return None


def _fits(text: str, size: int, width: int, height: int) -> bool:
    return drawable(text) and columns(text, size) <= width and rows(text, size) <= height
