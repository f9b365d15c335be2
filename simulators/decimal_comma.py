r"""A decimal comma, for example ``B +   123,5 g  *`` and CR.

``B`` gross or ``N`` net; a space; the sign; eight columns of number, right-aligned, or eight
``#`` over and eight ``_`` under the range; a space; the unit; spaces; ``*`` steady or ``~`` in
motion.
"""

from __future__ import annotations

from simulators.display import Shown, Span
from simulators.sending import fits

_WIDTH = 8


def decimal_comma(shown: Shown) -> bytes:
    """One reading as it is sent; a number too wide for its columns is over the range."""
    number = f"{abs(shown.weight):f}".replace(".", ",").rjust(_WIDTH)
    if shown.span is Span.BELOW:
        number = "_" * _WIDTH
    elif shown.span is Span.ABOVE or not fits(abs(shown.weight), _WIDTH):
        number = "#" * _WIDTH
    sign = "-" if shown.weight < 0 else "+"
    mode, mark = "N" if shown.net else "B", "*" if shown.stable else "~"
    return f"{mode} {sign}{number} {shown.unit:<2} {mark}\r".encode("ascii")
