"""Looks for scales: listens to a device as every format would, and tells how well each fits."""

from __future__ import annotations

import asyncio
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from scaled.core.errors import LinkError
from scaled.core.reading import Reading
from scaled.protocol import LineSettings, by_radio

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from scaled.protocol import Decoder, Driver, Link

LISTEN_S: Final = 1.2
"""How long a device is listened to at each setting, s: the slowest scales send twice a second."""

_ASK_S: Final = 0.25
"""How long an answer to a request is waited for, s: thirty characters at 2400 baud, and as long
again for the scale to think."""

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
    at one, the others are only asked. That takes some 5 s, what nobody can read twice as long.

    Raises:
        LinkRefused: It cannot be opened.
    """
    best: Found | None = None
    within_s = LISTEN_S
    for line in _lines(device, drivers):
        found = await _listen_at(device, drivers, line, within_s)
        within_s = LISTEN_S if found else 0.0
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


async def _listen_at(
    device: str, drivers: Mapping[str, Driver], line: LineSettings, within_s: float
) -> Found | None:
    ear = _Ear(drivers)
    link = await next(iter(drivers.values())).open(device, line)
    try:
        await ear.hear(link, within_s)
        for request in dict.fromkeys(d.poll.request for d in drivers.values() if d.poll):
            if ear.heard:
                break
            for _ in range(_SURE + 1):
                await link.write(request)
                await ear.hear(link, _ASK_S, once=True)
                if not ear.heard:
                    break  # it does not answer to this
    except LinkError:
        pass  # what was heard until then counts
    finally:
        await link.close()
    return Found(line, ear.fits(), ear.heard) if ear.heard else None


class _Ear:
    """Hears one link through the decoders of many formats."""

    def __init__(self, drivers: Mapping[str, Driver]) -> None:
        self.heard = 0
        self._decoders: dict[str, Decoder] = {
            name: driver.decoder() for name, driver in drivers.items()
        }
        self._frames = dict.fromkeys(drivers, 0)
        self._shown = dict.fromkeys(drivers, "")

    async def hear(self, link: Link, within_s: float, *, once: bool = False) -> None:
        """Listen for so long or, where once is enough, until a frame is complete."""
        try:
            async with asyncio.timeout(within_s):
                while True:
                    understood = self._take(await link.read())
                    if once and understood:
                        return
        except TimeoutError:
            return

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
