"""The public door for drivers: a wire format is a decoder, a link is a byte stream.

A driver module exports a :class:`Driver` and names it in the entry-point group
``scaled.drivers``. The name of the entry point is the name users write.

A :class:`Link` is used once: it is opened, read to its end and closed; reconnecting is another
object. A :class:`Decoder` is pure: bytes in, frames out, bad frames counted and dropped.
"""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from dataclasses import dataclass
from enum import StrEnum
from importlib.metadata import entry_points
from typing import Final, Literal, Protocol, TypeAlias

from scaled.core.errors import ConfigError
from scaled.core.reading import Reading

GROUP: Final = "scaled.drivers"


class NoticeKind(StrEnum):
    """Why a scale shows no weight."""

    OVERLOAD = "overload"
    """More on the pan than the scale can weigh."""
    UNDERLOAD = "underload"
    """Less on the pan than when the scale was set to zero, beyond its range."""


@dataclass(frozen=True, slots=True)
class Notice:
    """A frame in which the scale says why it shows no weight.

    Not a :class:`Reading`, so that nothing downstream can mistake it for a weight; and not
    silence either: the scale is there, and the person at it can be told what to do.

    Attributes:
        t: Seconds on the stream's own clock, as in a reading.
        kind: What the scale said.
    """

    t: float
    kind: NoticeKind


Frame: TypeAlias = Reading | Notice
"""What one frame can say."""


class Decoder(Protocol):
    """Turns one scale's bytes into frames; keeps the bytes of an unfinished one."""

    @property
    def dropped(self) -> int:
        """Frames thrown away so far because they made no sense."""
        ...

    def feed(self, data: bytes, t: float) -> list[Frame]:
        """Frames completed by these bytes, oldest first, all stamped ``t``.

        Never raises on any bytes; how a stream is cut into calls makes no difference; the
        memory kept between calls is bounded.
        """
        ...


class Link(Protocol):
    """An open line to one scale."""

    async def read(self) -> bytes:
        """The next bytes, at least one, in order.

        Cancelling it loses nothing: a caller may put a timeout around it and read again (which
        is why this is not an async iterator: a timeout would end that).

        Raises:
            LinkLost: The line went away, or was closed.
        """
        ...

    async def write(self, data: bytes) -> None:
        """Send bytes to the scale, without waiting for one that takes none.

        What the line does not take at once is dropped: a scale that cannot be asked falls
        silent, and that is noticed anyway.

        Raises:
            LinkLost: The line went away, or was closed.
        """
        ...

    async def close(self) -> None:
        """Let the line go; calling it again does nothing."""
        ...


Framing: TypeAlias = Literal["8N1", "8N2", "8E1", "8O1", "7E1", "7O1", "7N2", "7E2", "7O2"]
"""Data bits, parity and stop bits of a serial line."""


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
        open: Opens a new link to a device without blocking the loop; raises LinkRefused.
        poll: How to ask for readings, None when the scale sends by itself.
    """

    summary: str
    decoder: Callable[[], Decoder]
    open: Callable[[str, LineSettings], Awaitable[Link]]
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
        try:
            driver = entry.load()
        except (ImportError, AttributeError) as err:
            raise ConfigError(name, "", f"the scale format cannot be loaded: {err}") from err
        if not isinstance(driver, Driver):
            raise ConfigError(name, "", f"the entry point {entry.value} is not a Driver")
        return driver
    known = ", ".join(driver_names()) or "none"
    raise ConfigError(name, "", f"no such scale format; installed: {known}")
