r"""A number with its sign after it, for example ``     123.5- g ?`` and LF.

=====  =====================================================================
1-9    number, right-aligned
10     ``-`` when it is negative, else a space
11     space
12-13  unit, right-aligned
14     space
15     ``.`` steady, ``?`` in motion, ``^`` over, ``_`` under the range (the
       number is then 0)
=====  =====================================================================
"""

from __future__ import annotations

from simulators.display import Shown, Span
from simulators.sending import fits

_WIDTH = 9


def trailing_sign(shown: Shown) -> bytes:
    """One reading as it is sent; a number too wide for its columns is over the range."""
    number, mark = f"{abs(shown.weight):f}", "." if shown.stable else "?"
    if shown.span is Span.BELOW:
        number, mark = "0", "_"
    elif shown.span is Span.ABOVE or not fits(abs(shown.weight), _WIDTH):
        number, mark = "0", "^"
    sign = "-" if shown.weight < 0 else " "
    return f"{number:>{_WIDTH}}{sign} {shown.unit:>2} {mark}\n".encode("ascii")
