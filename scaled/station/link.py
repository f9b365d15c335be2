"""A scale's link: how it is reached, and what is said of it."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING, Final

from scaled.core.reading import Unit
from scaled.protocol import LineSettings

if TYPE_CHECKING:
    from scaled.config import StationConfig
    from scaled.protocol import Driver


STALE_S: Final = 2.0
"""Silence that counts as stale, s: twenty readings of a common scale, and a cook's patience."""


class LinkState(StrEnum):
    """How a scale's link is; some are NoticeKind's own words."""

    OPENING = "opening"
    """Its line is open and nothing came yet."""
    LIVE = "live"
    """Readings come."""
    WRONG_UNIT = "wrong_unit"
    """Readings come, in another unit than the scale is to show."""
    OVERLOAD = "overload"
    UNDERLOAD = "underload"
    UNSUCCESSFUL = "unsuccessful"
    FAULT = "fault"
    """The scale says so instead of a weight."""
    STALE = "stale"
    """It says nothing that makes sense for a while."""
    ASLEEP = "asleep"
    """It fell silent, or by radio went away, after nothing was done at it for long, as one that
    switches itself off."""
    LOST = "lost"
    """Its line went away, until another can be opened."""
    FLAPPING = "flapping"
    """Its line went away again and again."""
    BUSY = "busy"
    """Another program has its line."""


WEIGHING: Final = frozenset({LinkState.LIVE, LinkState.WRONG_UNIT})
"""Readings come."""
SILENT: Final = frozenset(
    {LinkState.STALE, LinkState.ASLEEP, LinkState.LOST, LinkState.FLAPPING, LinkState.BUSY}
)
"""The scale says nothing, not even why."""


@dataclass(frozen=True, slots=True)
class ScaleConfig:
    """How one scale is reached.

    Attributes:
        format: Name of its wire format, as in the list of drivers.
        device: What its driver opens.
        line: How a serial line is set.
        stale_s: Silence that counts as stale, s.
        division_g: What was said of its smallest step, g.
        unit: What it is to show; None: whatever it shows.
    """

    format: str
    device: str
    line: LineSettings = field(default_factory=LineSettings)
    stale_s: float = STALE_S
    division_g: float | None = None
    unit: Unit | None = None


def reached(station: StationConfig, driver: Driver) -> ScaleConfig:
    """How a station's scale is reached, what nobody said being as usual with such scales."""
    return ScaleConfig(
        format=station.format,
        device=station.device,
        line=LineSettings(
            station.baud or driver.line.baud, station.framing or driver.line.framing
        ),
        stale_s=station.stale_s,
        division_g=station.division_g,
        unit=Unit(station.unit) if station.unit else None,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class LinkStatus:
    """A link as it stands.

    Attributes:
        t: When it came to this state, s on the clock of the readings.
        state: The state.
        format: Name of the wire format.
        device: What was opened.
        detail: One line for a person: what is wrong and what to do; "" when nothing is.
        readings: Readings so far, over all reopenings.
        dropped: Frames thrown away so far because they made no sense.
        rate_hz: Readings per second lately; 0 unless live.
    """

    t: float
    state: LinkState
    format: str
    device: str
    detail: str
    readings: int
    dropped: int
    rate_hz: float
