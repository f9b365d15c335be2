"""Watches one scale's link: the bytes as they came, beside what was read from them."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from itertools import pairwise
from statistics import median
from time import monotonic
from typing import TYPE_CHECKING, Final

from scaled.capture import Chunk, chunk_line
from scaled.core.division import infer_division
from scaled.core.errors import only_error
from scaled.core.reading import Reading
from scaled.protocol import Explaining
from scaled.station.link import LinkState
from scaled.station.scale_link import ScaleLink

if TYPE_CHECKING:
    from collections.abc import Callable

    from scaled.protocol import Decoder, Driver, Frame, LineSettings, Link
    from scaled.station.link import LinkStatus, ScaleConfig

_KEPT: Final = 2000
"""Readings that rate and division are taken over: minutes of any scale."""

_GAP_PERIODS: Final = 5
_GAP_S: Final = 0.5
"""A pause of so many usual periods, and so long, s, is a dropout."""

_SUM_S: Final = 10.0
"""How often the summary is told while readings come, s."""

_MARKS: Final = {True: "stable", False: "moving", None: ""}


class Watch:
    """What was seen so far, told line by line.

    Attributes:
        readings: How many there were.
        enough: Set once as many readings came as were asked for.
    """

    def __init__(self, tell: Callable[[str], None], limit: int | None = None) -> None:
        """``tell`` gets each line; ``limit``: readings after which it is enough."""
        self.readings = 0
        self.enough = asyncio.Event()
        self._tell = tell
        self._limit = limit
        self._raw = b""
        self._kept: list[Reading] = []
        self._dropouts = 0
        self._dropped = 0
        self._summed_t = 0.0

    def take_bytes(self, data: bytes) -> None:
        """Keep what came, to be shown beside what is read from it."""
        self._raw = (self._raw + data)[-256:]

    async def take(self, news: Reading | LinkStatus) -> None:
        """Show a reading or what became of the link."""
        raw, self._raw = self._raw, b""
        if isinstance(news, Reading):
            self._take_reading(news, chunk_line(Chunk(news.t, raw)).rstrip("\n"))
            return
        self._dropouts += news.state in (LinkState.STALE, LinkState.LOST)
        if news.state not in (LinkState.OPENING, LinkState.LIVE):
            shown = chunk_line(Chunk(news.t, raw)).rstrip("\n") if raw else f"{news.t:.3f}"
            self._tell(f"{shown}  | {news.detail or news.state.value}")

    def take_dropped(self, count: int, why: str) -> None:
        """Count what was dropped, and show why the last of it was, unless that is not known."""
        self._dropped += count
        if why:
            self._tell(f"dropped: {why}")

    def summary(self) -> str:
        """All of it in one line."""
        step_g = infer_division(self._kept)
        division = f"division {step_g:.4g} g" if step_g else "division not seen"
        period_s = self._period_s()
        rate = f"{1 / period_s:.1f} readings a second, " if period_s else ""
        return (
            f"{self.readings} readings, {rate}{division}, {self._dropouts} dropouts, "
            f"{self._dropped} frames dropped"
        )

    def _take_reading(self, reading: Reading, shown: str) -> None:
        period_s = self._period_s()
        if self._kept and period_s:
            gap_s = reading.t - self._kept[-1].t
            self._dropouts += gap_s > max(_GAP_PERIODS * period_s, _GAP_S)
        self.readings += 1
        self._kept = [*self._kept[-_KEPT:], reading]
        unit = reading.unit.value if reading.unit else ""
        said = f"{reading.weight:.10g} {unit} {_MARKS[reading.stable]}".rstrip()
        self._tell(f"{shown}  | {said}")
        if reading.t - self._summed_t >= _SUM_S:
            self._summed_t = reading.t
            self._tell(self.summary())
        if self._limit and self.readings >= self._limit:
            self.enough.set()

    def _period_s(self) -> float:
        times = [reading.t for reading in self._kept[-50:]]
        return median(b - a for a, b in pairwise(times)) if times[1:] else 0.0


async def watch(
    config: ScaleConfig, driver: Driver, seen: Watch, keep: Callable[[Chunk], None] | None
) -> None:
    """Watch until cancelled or ``seen`` has enough; a lost line is waited for.

    Args:
        config: The scale.
        driver: Of its format.
        seen: Takes what comes.
        keep: Takes all bytes with their time since the beginning, s; may raise InputError.

    Raises:
        LinkRefused: The line cannot be opened at first.
    """
    began = monotonic()

    def hear(data: bytes) -> None:
        seen.take_bytes(data)
        if keep:
            keep(Chunk(monotonic() - began, data))

    tapped = _tapped(driver, hear, seen.take_dropped)
    link = ScaleLink(tapped, config, lambda: monotonic() - began)
    await link.open()
    try:
        async with asyncio.TaskGroup() as tasks:
            running = tasks.create_task(link.run(seen.take))
            await seen.enough.wait()
            running.cancel()
    except BaseExceptionGroup as group:
        raise only_error(group) from group
    finally:
        await link.close()


def _tapped(
    driver: Driver, hear: Callable[[bytes], None], drop: Callable[[int, str], None]
) -> Driver:
    """The same driver, whose links tell what they bring and its decoders what they drop."""

    async def open_tapped(device: str, settings: LineSettings) -> Link:
        return _TappedLink(await driver.open(device, settings), hear)

    return replace(
        driver, open=open_tapped, decoder=lambda: _TappedDecoder(driver.decoder(), drop)
    )


class _TappedDecoder:
    """A decoder that tells why it dropped something; see :class:`scaled.protocol.Decoder`."""

    def __init__(self, decoder: Decoder, drop: Callable[[int, str], None]) -> None:
        self._decoder = decoder
        self._drop = drop

    @property
    def dropped(self) -> int:
        return self._decoder.dropped

    def feed(self, data: bytes, t: float) -> list[Frame]:
        before = self._decoder.dropped
        frames = self._decoder.feed(data, t)
        dropped = self._decoder.dropped - before
        if dropped:
            decoder = self._decoder
            self._drop(dropped, decoder.refusal if isinstance(decoder, Explaining) else "")
        return frames


class _TappedLink:
    """A link that tells what it brings; see :class:`scaled.protocol.Link`."""

    def __init__(self, link: Link, hear: Callable[[bytes], None]) -> None:
        self._link = link
        self._hear = hear

    @property
    def step_g(self) -> float | None:
        return self._link.step_g

    async def read(self) -> bytes:
        data = await self._link.read()
        self._hear(data)
        return data

    async def write(self, data: bytes) -> None:
        await self._link.write(data)

    async def close(self) -> None:
        await self._link.close()
