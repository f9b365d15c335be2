r"""ASCII request and response: the scale says its display only when asked.

The host sends ``R`` and CR LF; the answer is one line, for example ``WS     123.5 g``:

======  ================================================================================
1       ``W``
2       ``S`` stable, ``M`` in motion, ``H`` too heavy, ``L`` below the zero range
3       space
4-12    number, right-aligned, with ``-`` before its first digit when negative
13      space
14-15   unit, left-aligned: g, kg, oz, lb
======  ================================================================================

A too heavy answer ends after the letter. A request the scale does not know is answered ``E1``,
which counts as dropped. More or fewer spaces between the fields, a unit in capitals and a lone
CR or LF are forgiven.
"""

from __future__ import annotations

import re
from functools import partial
from typing import Final

from drivers.lines import UNITS, LineDecoder
from drivers.serial_link import open_serial_link
from scaled.core.reading import Reading
from scaled.protocol import Driver, Frame, Notice, NoticeKind, Poll

_WEIGHT: Final = re.compile(rb" *W([SM]) +(-?[0-9]{1,8}(?:\.[0-9]{1,7})?) +((?i:kg|g|oz|lb)) *")
_NO_WEIGHT: Final = re.compile(rb" *W([HL])(?: +-?[0-9.]{1,9} +(?i:kg|g|oz|lb))? *")

_NOTICES: Final = {b"H": NoticeKind.OVERLOAD, b"L": NoticeKind.UNDERLOAD}


def parse_line(line: bytes, t: float) -> Frame | None:
    """What one answer says at ``t``; None when it makes no sense."""
    if shown := _WEIGHT.fullmatch(line):
        status, number, unit = shown.groups()
        # Adding 0.0 turns "-0.0" into plain zero.
        return Reading(t, float(number) + 0.0, UNITS[unit.lower()], stable=status == b"S")
    if refused := _NO_WEIGHT.fullmatch(line):
        return Notice(t, _NOTICES[refused[1]])
    return None


DRIVER: Final = Driver(
    summary="ASCII request and response, asked ten times a second",
    decoder=partial(LineDecoder, parse_line),
    open=open_serial_link,
    poll=Poll(request=b"R\r\n", interval_s=0.1),
)
