"""Supervision of one scale's link: open, follow, notice silence and loss, back off, reopen."""

from __future__ import annotations

import asyncio
import math
from collections import deque
from typing import TYPE_CHECKING, Final, NoReturn, TypeAlias

from scaled.core.errors import LinkError
from scaled.core.reading import Reading
from scaled.station.link import LinkState, LinkStatus
from scaled.station.plate import check_step
from scaled.station.symptoms import Finding, Symptoms

if TYPE_CHECKING:
    from collections.abc import Awaitable, Callable

    from scaled.protocol import Decoder, Driver, Frame, Link
    from scaled.station.link import ScaleConfig

FIRST_PAUSE_S: Final = 0.2
LONGEST_PAUSE_S: Final = 5.0
"""Pauses between attempts to reopen double from the first to the longest, s."""

_HELD_UP_S: Final = 0.1
"""A loop that looks so much too late, s, was held up itself: what came meanwhile is there to be
read, and is given as long."""

_LONGEST_FRAME: Final = 64
"""Bytes that hold a whole frame of any format: the rest of a cut one is shorter."""

_RATE_SPAN: Final = 50
"""Latest readings that the rate is taken over."""


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
        self._device = config.device
        self._link: Link | None = None
        self._decoder: Decoder = driver.decoder()
        self._dropped_before = self._dropped_when_heard = 0
        self._unread_bytes = 0
        self._readings = 0
        self._times: deque[float] = deque(maxlen=_RATE_SPAN)
        self._symptoms = Symptoms(config)
        self._found, self._since = Finding(LinkState.OPENING), clock()
        self._pause_s = FIRST_PAUSE_S

    @property
    def status(self) -> LinkStatus:
        """The link as it stands now, counts up to date."""
        return LinkStatus(
            t=self._since,
            state=self._found.state,
            format=self._config.format,
            device=self._config.device,
            detail=self._found.detail,
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
        link = await self._driver.open(self._device, config.line)
        try:
            check_step(config.device, config.division_g, link.step_g)
        except LinkError:
            await link.close()
            raise
        self._link = link
        self._device = await asyncio.to_thread(self._driver.steady, self._device)
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
                    await self._enter(self._symptoms.lost(err, self._clock()), sink)
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
            late_s = loop.time() - silent_at
            if not frames and late_s > _HELD_UP_S:
                silent_at = loop.time() + _HELD_UP_S
            elif frames or late_s >= 0.0:
                if not frames:
                    await self._enter(self._symptoms.silent(senseless=self._nonsense), sink)
                silent_at = loop.time() + self._config.stale_s

    async def _reopen(self, sink: Sink) -> Link:
        link = await self.open()
        await self._enter(Finding(LinkState.OPENING), sink)
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
        await self._enter(self._symptoms.heard(frame), sink)
        if isinstance(frame, Reading):
            self._readings += 1
            self._times.append(frame.t)
            await sink(frame)

    async def _enter(self, found: Finding, sink: Sink) -> None:
        if found.state is not self._found.state:
            self._since = self._clock()
            self._times.clear()  # a rate is of one stretch of readings
        if found != self._found:
            self._found = found
            await sink(self.status)

    @property
    def _nonsense(self) -> bool:
        """Whether what came since the last frame was more than the rest of a cut one."""
        dropped = self._decoder.dropped > self._dropped_when_heard
        return dropped or self._unread_bytes > _LONGEST_FRAME

    def _rate_hz(self) -> float:
        span_s = self._times[-1] - self._times[0] if self._times else 0.0
        return (len(self._times) - 1) / span_s if span_s > 0 else 0.0
