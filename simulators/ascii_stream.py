r"""Continuous ASCII lines, from the scale's side: one a reading, unasked.

``HH,MM,SDDDDDDDD UU`` and CR LF, for example ``ST,GR,+00123.50  g``:

========  ==========================================================================
HH        ``ST`` stable, ``US`` unstable, ``OL`` overload, ``UL`` underload
MM        ``GR`` gross, ``NT`` net
S         sign, ``+`` or ``-``
DDDDDDDD  number, zero-padded to eight characters with a decimal point and at least
          one decimal; eight dashes with ``OL`` and ``UL``
UU        unit, right-aligned in two characters: g, kg, oz, lb
========  ==========================================================================
"""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from simulators.display import Shown, Span

_WIDTH: Final = 8
_DASHES: Final = "-" * _WIDTH


class AsciiStream:
    """The scale's end of such a line."""

    def show(self, shown: Shown) -> bytes:
        """The line for one reading; a number too wide for its field is an overload."""
        number = _number(abs(shown.weight))
        sign = "-" if shown.weight < 0 else "+"
        if shown.span is Span.BELOW:
            head, number, sign = "UL", _DASHES, "-"
        elif shown.span is Span.ABOVE or len(number) > _WIDTH:
            head, number = "OL", _DASHES
        else:
            head = "ST" if shown.stable else "US"
        tared = "NT" if shown.net else "GR"
        return f"{head},{tared},{sign}{number} {shown.unit:>2}\r\n".encode("ascii")

    def answer(self, data: bytes) -> bytes:
        """Nothing: the scale does not listen."""
        del data
        return b""


def _number(weight: Decimal) -> str:
    text = f"{weight:f}"
    return (text if "." in text else f"{text}.0").zfill(_WIDTH)
