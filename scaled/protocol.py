"""The public door for drivers: a wire format is a decoder, a link is a byte stream.

A driver module exports a :class:`Driver` and names it in the entry-point group
``scaled.drivers``. The name of the entry point is the name users write.

A :class:`Link` is used once: it is opened, read to its end and closed; reconnecting is another
object. A :class:`Decoder` is pure: bytes in, readings out, bad frames counted and dropped.
"""

from __future__ import annotations

from collections.abc import AsyncIterator, Callable
from dataclasses import dataclass
from importlib.metadata import entry_points
from typing import Protocol

from scaled.core.errors import ConfigError
from scaled.core.reading import Reading

GROUP = "scaled.drivers"


class Decoder(Protocol):
    """Turns one scale's bytes into readings; keeps the bytes of an unfinished frame."""

    dropped: int
    """Frames thrown away so far because they made no sense."""

    def feed(self, data: bytes, t: float) -> list[Reading]:
        """Readings completed by these bytes, oldest first, all stamped ``t``.

        Never raises on any bytes; the memory kept between calls is bounded.
        """
        ...


class Link(Protocol):
    """An open line to one scale."""

    def chunks(self) -> AsyncIterator[bytes]:
        """Bytes as they arrive, in order; ends only when the link is closed.

        Raises:
            LinkLost: The line went away.
        """
        ...

    async def write(self, data: bytes) -> None:
        """Send bytes to the scale.

        Raises:
            LinkLost: The line went away.
        """
        ...

    async def close(self) -> None:
        """Let the line go; calling it again does nothing."""
        ...


@dataclass(frozen=True, slots=True)
class LineSettings:
    """How to open a serial line: baud rate and framing such as ``8N1``."""

    baud: int = 9600
    framing: str = "8N1"


@dataclass(frozen=True, slots=True)
class Poll:
    """A scale that only speaks when asked: what to send, and how often."""

    request: bytes
    interval_s: float


@dataclass(frozen=True, slots=True)
class Driver:
    """One wire format.

    Attributes:
        summary: One line for listings.
        decoder: Makes a fresh decoder for each link.
        open: Opens the link to a device; raises LinkRefused or LinkLost.
        poll: How to ask for readings, None when the scale sends by itself.
    """

    summary: str
    decoder: Callable[[], Decoder]
    open: Callable[[str, LineSettings], Link]
    poll: Poll | None = None


def driver_names() -> list[str]:
    """Names of all installed drivers, sorted, without importing any."""
    return sorted(entry.name for entry in entry_points(group=GROUP))


def load_driver(name: str) -> Driver:
    """The driver with that name.

    Raises:
        ConfigError: No driver has that name, or it is broken; says which there are.
    """
    for entry in entry_points(group=GROUP, name=name):
        driver = entry.load()
        if not isinstance(driver, Driver):
            raise ConfigError(name, "", f"the entry point {entry.value} is not a Driver")
        return driver
    known = ", ".join(driver_names()) or "none"
    raise ConfigError(name, "", f"no such scale format; installed: {known}")
