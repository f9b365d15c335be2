"""The public door for drivers: a wire format is a decoder, a link brings it bytes.

A driver module exports a :class:`Driver` and names it in the entry-point group
``scaled.drivers``. The name of the entry point is the name users write. Formats that are data
come many at a time: a :class:`Shelf` stands in the group ``scaled.shelves``.

A :class:`Link` is used once: it is opened, read to its end and closed; reconnecting is another
object. A :class:`Decoder` is pure: bytes in, frames out, bad frames counted and dropped.
"""

from __future__ import annotations

import re
from collections.abc import Awaitable, Callable, Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from importlib.metadata import EntryPoint, entry_points
from typing import Any, Final, Literal, Protocol, TypeAlias, runtime_checkable

from scaled.core.errors import ConfigError
from scaled.core.reading import Reading

GROUP: Final = "scaled.drivers"
SHELVES: Final = "scaled.shelves"

_RADIO: Final = re.compile(r"[0-9A-Fa-f]{2}(:[0-9A-Fa-f]{2}){5}")


class NoticeKind(StrEnum):
    """Why a scale shows no weight."""

    OVERLOAD = "overload"
    """More on the pan than the scale can weigh."""
    UNDERLOAD = "underload"
    """Less on the pan than when the scale was set to zero, beyond its range."""
    UNSUCCESSFUL = "unsuccessful"
    """The scale tried to weigh and could not; it does not say why."""
    FAULT = "fault"
    """Something is wrong with the scale itself, or it must be calibrated before it weighs."""


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

        Never raises on any bytes; the memory kept between calls is bounded. How a stream is cut
        into calls makes no difference; a format of messages takes one whole message a call.
        """
        ...


@runtime_checkable
class Explaining(Protocol):
    """A decoder that can say why a frame was dropped, for whoever describes a format."""

    @property
    def refusal(self) -> str:
        """Why the last one made no sense, one line; "" before any was dropped."""
        ...


class Link(Protocol):
    """An open line to one scale."""

    @property
    def step_g(self) -> float | None:
        """The smallest step that the scale itself says it shows, g; None when it does not say."""
        ...

    async def read(self) -> bytes:
        """The next bytes, at least one, in order: of a line whatever came, of radio one message.

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
class Device:
    """Something in reach that may be a scale: what to write to open it, and what it is."""

    name: str
    about: str


Search: TypeAlias = Callable[[float], Awaitable[list[Device]]]
"""Looks for devices in reach."""


@dataclass(frozen=True, slots=True)
class Driver:
    """One wire format.

    Attributes:
        summary: One line for listings.
        decoder: Makes a fresh decoder for each link.
        open: Opens a new link to a device without blocking the loop; raises LinkRefused.
        poll: How to ask for readings, None when the scale sends by itself.
        line: How such scales are usually set, for a serial line nobody said more of.
        finest_g: The smallest step that the format can tell, g; None: any.
        steady: The name by which a device that is there is opened again, should it come back
            under another number; blocking.
        near: Each looks for devices it may open, for so many seconds at most, and raises
            LinkRefused where it cannot look.
    """

    summary: str
    decoder: Callable[[], Decoder]
    open: Callable[[str, LineSettings], Awaitable[Link]]
    poll: Poll | None = None
    line: LineSettings = LineSettings()
    finest_g: float | None = None
    steady: Callable[[str], str] = str
    near: tuple[Search, ...] = ()


class Shelf(Protocol):
    """Drivers made of data, many behind one entry point."""

    def names(self) -> Iterable[str]:
        """Names of those that are listed; others may be had too, such as a file's."""
        ...

    def driver(self, name: str) -> Driver | None:
        """The driver with that name, None when it is not on this shelf.

        Raises:
            ConfigError: It is, and is broken.
        """
        ...


def by_radio(device: str) -> bool:
    """Whether a device's name is a Bluetooth address; such a line has no cable and no settings."""
    return _RADIO.fullmatch(device) is not None


def driver_names() -> list[str]:
    """Names of all installed drivers, sorted, without loading any."""
    single = (entry.name for entry in entry_points(group=GROUP))
    shelved = (name for shelf in _shelves() for name in shelf.names())
    return sorted({*single, *shelved})


def load_driver(name: str) -> Driver:
    """The driver with that name, or of the description in the file of that name.

    Raises:
        ConfigError: No driver has that name, or it is broken; says which there are.
    """
    for shelf in _shelves():
        shelved = shelf.driver(name)
        if shelved is not None:
            return shelved
    for entry in entry_points(group=GROUP, name=name):
        driver = _loaded(entry)
        if not isinstance(driver, Driver):
            raise ConfigError(name, "", f"the entry point {entry.value} is not a Driver")
        return driver
    known = ", ".join(driver_names()) or "none"
    raise ConfigError(name, "", f"no such scale format; installed: {known}")


def _shelves() -> Iterator[Shelf]:
    for entry in entry_points(group=SHELVES):
        shelf: Shelf = _loaded(entry)
        yield shelf


def _loaded(entry: EntryPoint) -> Any:  # noqa: ANN401 -- whatever another package names
    try:
        return entry.load()
    except (ImportError, AttributeError) as err:
        reason = f"the scale format cannot be loaded: {err}"
        raise ConfigError(entry.name, "", reason) from err
