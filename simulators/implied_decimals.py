r"""Digits without a decimal point, for example ``+00012351GS0A`` and CR for 123.5 g.

=====  =====================================================================
1      sign
2-8    seven digits
9      how many of them are decimals
10     ``G`` g, ``K`` kg, ``O`` oz, ``L`` lb
11     ``S`` steady, ``D`` in motion, ``H`` too heavy, ``B`` below zero's range
12-13  exclusive or of columns 1-11, in hexadecimal
=====  =====================================================================
"""

from __future__ import annotations

from simulators.display import Shown, Span

_DIGITS = 7
_UNITS = {"g": "G", "kg": "K", "oz": "O", "lb": "L"}


def implied_decimals(shown: Shown) -> bytes:
    """One reading as it is sent; a number with too many digits is too heavy."""
    whole, _, decimals = f"{abs(shown.weight):f}".partition(".")
    digits = whole + decimals
    status = "S" if shown.stable else "D"
    if shown.span is Span.ABOVE or len(digits) > _DIGITS:
        status, digits, decimals = "H", "", ""
    elif shown.span is Span.BELOW:
        status, digits, decimals = "B", "", ""
    sign = "-" if shown.weight < 0 else "+"
    text = f"{sign}{digits:0>{_DIGITS}}{len(decimals)}{_UNITS[shown.unit]}{status}".encode("ascii")
    check = 0
    for byte in text:
        check ^= byte
    return text + b"%02X\r" % check
