"""What every wire format does with readings, and the formats by name."""

from __future__ import annotations

from collections.abc import Callable
from types import MappingProxyType
from typing import Final, Protocol

from simulators.ascii_poll import AsciiPoll
from simulators.ascii_stream import AsciiStream
from simulators.display import Shown


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
    {"ascii-stream": AsciiStream, "ascii-poll": AsciiPoll}
)
"""Makes a fresh end of the line, by the format's name."""
