r"""Continuous ASCII lines: the scale sends its display several times a second, unasked.

One reading a line, ``HH,MM,SDDDDDDDD UU`` and CR LF, for example ``ST,GR,+00123.50  g``:

========  ===========================================================================
HH        ``ST`` stable, ``US`` unstable, ``OL`` overload, ``UL`` underload
MM        ``GR`` gross, ``NT`` net
S         sign, ``+`` or ``-``
DDDDDDDD  number, right-aligned in eight characters; eight dashes with ``OL`` and ``UL``
UU        unit, right-aligned in two characters: g, kg, oz, lb
========  ===========================================================================

More spaces around the fields, a unit in capitals and a lone CR or LF are forgiven. The width of
number and unit is not: it shows when a byte went missing.
"""

from __future__ import annotations

import re
from functools import partial
from typing import Final

from drivers.lines import UNITS, LineDecoder
from drivers.serial_link import open_serial_link
from scaled.core.reading import Reading
from scaled.protocol import Driver, Frame, Notice, NoticeKind

_WEIGHT: Final = re.compile(
    rb" *(ST|US) *, *(?:GR|NT) *, *([+-])(?=[ 0-9.]{7}[0-9.](?![0-9.]))( *[0-9]+\.?[0-9]*)"
    rb" +((?i: g|kg|oz|lb)) *"
)
_NO_WEIGHT: Final = re.compile(rb" *(OL|UL) *, *(?:GR|NT) *, *[+-]?-{8} *(?i:kg|g|oz|lb)? *")

_NOTICES: Final = {b"OL": NoticeKind.OVERLOAD, b"UL": NoticeKind.UNDERLOAD}


def parse_line(line: bytes, t: float) -> Frame | None:
    """What one line says at ``t``; None when it makes no sense."""
    if shown := _WEIGHT.fullmatch(line):
        status, sign, number, unit = shown.groups()
        # Adding 0.0 turns "-00000.00" into plain zero.
        weight = float(sign + number.lstrip()) + 0.0
        return Reading(t, weight, UNITS[unit.strip().lower()], stable=status == b"ST")
    if refused := _NO_WEIGHT.fullmatch(line):
        return Notice(t, _NOTICES[refused[1]])
    return None


DRIVER: Final = Driver(
    summary="continuous ASCII lines with status, gross or net, and a signed number",
    decoder=partial(LineDecoder, parse_line),
    open=open_serial_link,
)
