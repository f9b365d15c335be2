"""Supervision of one scale's link: open, follow, notice silence and loss, back off, reopen.

States: ``opening`` until the first frame, then ``live``, or ``overload``, ``underload`` or
``unsuccessful`` when the scale says so instead of a weight; ``stale`` when it says nothing that
makes sense for a while; ``lost`` when its line went away, until another can be opened.
"""

from __future__ import annotations

import asyncio
import math
from collections import deque
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING, Final, NoReturn, TypeAlias

from scaled.core.errors import LinkError
from scaled.core.reading import Reading
from scaled.protocol import LineSettings, Notice
from scaled.station.plate import check_step
from scaled.station.silence import nonsense, silence

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable

    from scaled.protocol import Decoder, Driver, Frame, Link

STALE_S: Final = 2.0
"""Silence that counts as stale, s: twenty readings of a common scale, and a cook's patience."""

FIRST_PAUSE_S: Final = 0.2
LONGEST_PAUSE_S: Final = 5.0
"""Pauses between attempts to reopen double from the first to the longest, s."""

_LONGEST_FRAME: Final = 64
"""Bytes that hold a whole frame of any format: the rest of a cut one is shorter."""

_RATE_SPAN: Final = 50
"""Latest readings that the rate is taken over."""


class LinkState(StrEnum):
    """How a scale's link is; some are NoticeKind's own words."""

    OPENING = "opening"
    LIVE = "live"
    OVERLOAD = "overload"
    UNDERLOAD = "underload"
    UNSUCCESSFUL = "unsuccessful"
    STALE = "stale"
    LOST = "lost"


_NOTICED: Final = {
    LinkState.OVERLOAD: "more on the scale than it can weigh; take some off",
    LinkState.UNDERLOAD: "below the scale's zero; empty the pan and press the scale's zero key",
    LinkState.UNSUCCESSFUL: "the scale could not weigh; let it come to rest, then empty the pan",
}


@dataclass(frozen=True, slots=True)
class ScaleConfig:
    """How one scale is reached.

    Attributes:
        format: Name of its wire format, as in the list of drivers.
        device: What its driver opens.
        line: How a serial line is set.
        stale_s: Silence that counts as stale, s.
        division_g: What was said of its smallest step, g.
    """

    format: str
    device: str
    line: LineSettings = field(default_factory=LineSettings)
    stale_s: float = STALE_S
    division_g: float | None = None


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


Sink: TypeAlias = "Callable[[Reading | LinkStatus], Awaitable[None]]"
"""Takes readings and changes in the order they happened, and may take its time.

What changed is the state, or the detail alone: a lost line may be found busy meanwhile.
"""


class ScaleLink:
    """One scale for as long as the station runs, over as many links as that takes.

    ``run`` is one task's whole work. A caller that must know at once whether the line can be
    opened at all awaits ``open`` first, and owes a ``close`` if it never comes to ``run``.
    """

    def __init__(self, driver: Driver, config: ScaleConfig, clock: Callable[[], float]) -> None:
        """Follow the scale of ``config``; ``clock`` gives the readings' time, s."""
        self._driver = driver
        self._config = config
        self._clock = clock
        self._link: Link | None = None
        self._decoder: Decoder = driver.decoder()
        self._dropped_before = self._dropped_when_heard = 0
        self._unread_bytes = 0
        self._readings = 0
        self._times: deque[float] = deque(maxlen=_RATE_SPAN)
        self._state, self._detail, self._since = LinkState.OPENING, "", clock()
        self._pause_s = FIRST_PAUSE_S

    @property
    def status(self) -> LinkStatus:
        """The link as it stands now, counts up to date."""
        return LinkStatus(
            t=self._since,
            state=self._state,
            format=self._config.format,
            device=self._config.device,
            detail=self._detail,
            readings=self._readings,
            dropped=self._dropped_before + self._decoder.dropped,
            rate_hz=self._rate_hz(),
        )

    async def open(self) -> Link:
        """Open a new link, with which ``run`` goes on.

        Raises:
            LinkRefused: The line cannot be opened, or the scale is not what was said of it.
        """
        config = self._config
        link = await self._driver.open(config.device, config.line)
        try:
            check_step(config.device, config.division_g, link.step_g)
        except LinkError:
            await link.close()
            raise
        self._link = link
        self._dropped_before += self._decoder.dropped
        self._dropped_when_heard = self._unread_bytes = 0
        self._decoder = self._driver.decoder()
        return link

    async def close(self) -> None:
        """Let the line go; calling it again does nothing."""
        link, self._link = self._link, None
        if link is not None:
            await link.close()

    async def run(self, sink: Sink) -> NoReturn:
        """Follow the scale until cancelled, which closes the line; no link error ends it.

        The state it starts in comes first; ``live`` comes before the first reading.
        """
        try:
            await sink(self.status)
            while True:
                try:
                    await self._follow(sink)
                except LinkError as err:
                    await self.close()
                    await self._enter(LinkState.LOST, str(err), sink)
                await asyncio.sleep(self._pause_s)
                self._pause_s = min(2 * self._pause_s, LONGEST_PAUSE_S)
        finally:
            await self.close()

    async def _follow(self, sink: Sink) -> NoReturn:
        """Follow one link until it raises: the one opened already, or else a new one."""
        link = self._link or await self._reopen(sink)
        loop, poll = asyncio.get_running_loop(), self._driver.poll
        ask_at = loop.time() if poll else math.inf
        silent_at = loop.time() + self._config.stale_s
        while True:
            if poll and loop.time() >= ask_at:
                await link.write(poll.request)
                ask_at = max(ask_at + poll.interval_s, loop.time())
            frames = await self._hear(link, min(ask_at, silent_at))
            for frame in frames:
                await self._pass_on(frame, sink)
            silent = not frames and loop.time() >= silent_at
            if silent:
                await self._enter(LinkState.STALE, self._why_stale(), sink)
            if frames or silent:
                silent_at = loop.time() + self._config.stale_s

    async def _reopen(self, sink: Sink) -> Link:
        link = await self.open()
        await self._enter(LinkState.OPENING, "", sink)
        return link

    async def _hear(self, link: Link, until: float) -> list[Frame]:
        """Frames completed by the next bytes; none if no bytes come in loop time."""
        try:
            async with asyncio.timeout_at(until):
                data = await link.read()
        except TimeoutError:
            return []
        self._unread_bytes += len(data)
        return self._decoder.feed(data, self._clock())

    async def _pass_on(self, frame: Frame, sink: Sink) -> None:
        self._pause_s = FIRST_PAUSE_S
        self._dropped_when_heard, self._unread_bytes = self._decoder.dropped, 0
        if isinstance(frame, Notice):
            state = LinkState(frame.kind)
            await self._enter(state, _NOTICED[state], sink)
            return
        await self._enter(LinkState.LIVE, "", sink)
        self._readings += 1
        self._times.append(frame.t)
        await sink(frame)

    async def _enter(self, state: LinkState, detail: str, sink: Sink) -> None:
        if state is not self._state:
            self._since = self._clock()
            self._times.clear()  # a rate is of one stretch of readings
        if (state, detail) != (self._state, self._detail):
            self._state, self._detail = state, detail
            await sink(self.status)

    def _why_stale(self) -> str:
        dropped = self._decoder.dropped > self._dropped_when_heard
        if dropped or self._unread_bytes > _LONGEST_FRAME:
            return nonsense(self._config)
        return silence(self._config, heard=self._readings > 0)

    def _rate_hz(self) -> float:
        span_s = self._times[-1] - self._times[0] if self._times else 0.0
        return (len(self._times) - 1) / span_s if span_s > 0 else 0.0
