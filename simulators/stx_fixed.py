r"""Fixed columns between STX and ETX, for example ``\x02SG   123.5g \x03``.

=====  =====================================================================
1      ``S`` stable, ``M`` moving, ``O`` over, ``U`` under the range
2      ``G`` gross, ``N`` net
3-10   number, right-aligned, ``-`` before its first digit when negative;
       eight dashes over and under the range
11-12  unit, left-aligned
=====  =====================================================================
"""

from __future__ import annotations

from simulators.display import Shown, Span
from simulators.sending import fits

_WIDTH = 8


def stx_fixed(shown: Shown) -> bytes:
    """One reading as it is sent; a number too wide for its columns is over the range."""
    number = f"{shown.weight:f}".rjust(_WIDTH)
    status = "S" if shown.stable else "M"
    if shown.span is Span.BELOW:
        status, number = "U", "-" * _WIDTH
    elif shown.span is Span.ABOVE or not fits(shown.weight, _WIDTH):
        status, number = "O", "-" * _WIDTH
    mode = "N" if shown.net else "G"
    return f"\x02{status}{mode}{number}{shown.unit:<2}\x03".encode("ascii")
