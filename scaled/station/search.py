"""Looks for scales: listens to a device as every format would, and tells how well each fits."""

from __future__ import annotations

import asyncio
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, NamedTuple

from scaled.core.errors import LinkError
from scaled.core.reading import Reading
from scaled.protocol import LineSettings, by_radio

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from scaled.protocol import Decoder, Driver, Link

LISTEN_S: Final = 1.2
"""How long a device is listened to at each setting, s: most scales send twice a second or more."""

_SELDOM_S: Final = 2.5
"""How long one that sends more seldom is waited for, s."""

_ASK_S: Final = 0.25
"""How long an answer to a request is waited for, s: thirty characters at 2400 baud, and as long
again for the scale to think."""

_ANSWER_S: Final = 1.0
"""How long one that has answered is waited for when it is asked again, s."""

_SURE: Final = 4
"""Frames without a wrong one that make a format sure; fewer, or some wrong, make it likely."""

_BAUDS: Final = (9600, 4800, 2400, 19200, 38400, 57600, 115200)
"""Speeds that serial scales are set to, the usual first (common practice, no published source)."""


@dataclass(frozen=True, slots=True)
class Fit:
    """How well one format reads what was heard.

    Attributes:
        format: Its name.
        frames: Frames that made sense.
        dropped: Frames that did not.
        shown: The last weight, "" when there was none.
    """

    format: str
    frames: int
    dropped: int
    shown: str = ""

    @property
    def share(self) -> float:
        """Share of the frames that made sense; the first may have been heard from its middle."""
        return self.frames / (self.frames + max(self.dropped - 1, 0))

    @property
    def confidence(self) -> str:
        """In a word."""
        if self.share < 0.5:
            return "doubtful"
        return "sure" if self.frames >= _SURE and self.share == 1 else "likely"


@dataclass(frozen=True, slots=True)
class Found:
    """A device that speaks.

    Attributes:
        line: The settings at which it made most sense.
        fits: The formats that read it, the best first; none: bytes came that none reads.
        heard: How many bytes came.
    """

    line: LineSettings
    fits: Sequence[Fit]
    heard: int


async def listen(device: str, drivers: Mapping[str, Driver]) -> Found | None:
    """What a device speaks, by drivers that all open it in the same way; None when it is silent.

    A scale that sends by itself is heard at any speed, if only as noise: once nothing was heard
    at one, the others are only asked. That takes less than 8 s; what nobody can read, some 12 s
    and more where it sends seldom.

    Raises:
        LinkRefused: It cannot be opened.
    """
    best: Found | None = None
    patience = _AT_FIRST
    for line in _lines(device, drivers):
        found = await _listen_at(device, drivers, line, patience)
        patience = _ONCE_HEARD if found else _ONCE_SILENT
        if found and (best is None or _worth(found) > _worth(best)):
            best = found
        if best and best.fits and best.fits[0].confidence == "sure":
            break
    return best


def _worth(found: Found) -> tuple[float, int]:
    return (found.fits[0].share, found.fits[0].frames) if found.fits else (0.0, 0)


def _lines(device: str, drivers: Mapping[str, Driver]) -> Iterator[LineSettings]:
    """The settings to try: those of the formats, then other speeds; by radio there are none."""
    if by_radio(device):
        yield LineSettings()
        return
    own = [driver.line for driver in drivers.values()]
    others = [LineSettings(baud) for baud in _BAUDS] if len(drivers) > 1 else []
    yield from dict.fromkeys([LineSettings(), *own, *others] if others else own)


class _Patience(NamedTuple):
    """How long the first word is waited for, s: before it is asked for, and once that was vain."""

    unasked_s: float
    at_last_s: float


_AT_FIRST: Final = _Patience(LISTEN_S, _SELDOM_S)
_ONCE_HEARD: Final = _Patience(_SELDOM_S, 0.0)
_ONCE_SILENT: Final = _Patience(0.0, 0.0)


async def _listen_at(
    device: str, drivers: Mapping[str, Driver], line: LineSettings, patience: _Patience
) -> Found | None:
    ear = _Ear(drivers)
    link = await next(iter(drivers.values())).open(device, line)
    try:
        await ear.hear(link, patience.unasked_s, LISTEN_S)
        await ear.ask(link)
        if not ear.heard:
            await ear.hear(link, patience.at_last_s, _SELDOM_S)
        await ear.make_sure(link)
    except LinkError:
        pass  # what was heard until then counts
    finally:
        await link.close()
    return Found(line, ear.fits(), ear.heard) if ear.heard else None


class _Ear:
    """Hears one link through the decoders of many formats."""

    def __init__(self, drivers: Mapping[str, Driver]) -> None:
        self.heard = 0
        self._polls = {name: driver.poll for name, driver in drivers.items() if driver.poll}
        self._decoders: dict[str, Decoder] = {
            name: driver.decoder() for name, driver in drivers.items()
        }
        self._frames = dict.fromkeys(drivers, 0)
        self._shown = dict.fromkeys(drivers, "")

    async def hear(self, link: Link, first_s: float, then_s: float) -> None:
        """Wait for the first bytes so long, and listen for so long from then on."""
        loop = asyncio.get_running_loop()
        with suppress(TimeoutError):
            async with asyncio.timeout(first_s) as ending:
                self._take(await link.read())
                ending.reschedule(loop.time() + then_s)
                while True:
                    self._take(await link.read())

    async def ask(self, link: Link) -> None:
        """Send each request in turn until something is heard."""
        for request in dict.fromkeys(poll.request for poll in self._polls.values()):
            if self.heard:
                return
            await link.write(request)
            await self._understands(link, _ASK_S)

    async def make_sure(self, link: Link) -> None:
        """Hear more of what one format reads without fault, as long as more comes."""
        while (fits := self.fits()) and fits[0].share == 1 and fits[0].frames < _SURE:
            poll = self._polls.get(fits[0].format)
            if poll is not None:
                await link.write(poll.request)
            if not await self._understands(link, _ANSWER_S if poll else _SELDOM_S):
                return

    async def _understands(self, link: Link, within_s: float) -> bool:
        """Whether a frame is complete in that time."""
        with suppress(TimeoutError):
            async with asyncio.timeout(within_s):
                while not self._take(await link.read()):
                    pass
                return True
        return False

    def _take(self, data: bytes) -> bool:
        """Whether any decoder had a frame completed by it."""
        before = sum(self._frames.values())
        self.heard += len(data)
        for name, decoder in self._decoders.items():
            for frame in decoder.feed(data, 0.0):
                self._frames[name] += 1
                if isinstance(frame, Reading):
                    unit = frame.unit.value if frame.unit else ""
                    self._shown[name] = f"{frame.weight:.10g} {unit}".strip()
        return sum(self._frames.values()) > before

    def fits(self) -> list[Fit]:
        fits = [
            Fit(name, self._frames[name], decoder.dropped, self._shown[name])
            for name, decoder in self._decoders.items()
            if self._frames[name]
        ]
        return sorted(fits, key=lambda fit: (fit.share, fit.frames), reverse=True)
