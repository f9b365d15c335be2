"""What every wire format does with readings, and the formats by name."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from types import MappingProxyType
from typing import Final, Protocol

from simulators.ascii_poll import AsciiPoll
from simulators.ascii_stream import AsciiStream
from simulators.comma_words import comma_words
from simulators.decimal_comma import decimal_comma
from simulators.display import Shown
from simulators.enquiry_bcc import ENQUIRY, enquiry_bcc
from simulators.implied_decimals import implied_decimals
from simulators.sending import Asked, Unasked
from simulators.status_bits import status_bits
from simulators.stx_fixed import stx_fixed
from simulators.trailing_sign import trailing_sign


class Wire(Protocol):
    """One scale's end of the line."""

    def show(self, shown: Shown) -> bytes:
        """Take a new reading; what the scale sends of itself because of it."""
        ...

    def answer(self, data: bytes) -> bytes:
        """Take bytes from the host; what the scale sends in return.

        Any bytes will do; of a request without an end, a bounded part is kept.
        """
        ...


WIRES: Final = MappingProxyType[str, Callable[[], Wire]](
    {
        "ascii-stream": AsciiStream,
        "ascii-poll": AsciiPoll,
        "comma-words": partial(Unasked, comma_words),
        "decimal-comma": partial(Unasked, decimal_comma),
        "enquiry-bcc": partial(Asked, ENQUIRY, enquiry_bcc),
        "implied-decimals": partial(Unasked, implied_decimals),
        "status-bits": partial(Unasked, status_bits),
        "stx-fixed": partial(Unasked, stx_fixed),
        "trailing-sign": partial(Unasked, trailing_sign),
    }
)
"""Makes a fresh end of the line, by the format's name."""
