"""A lesson at a scale: says what to do, hears what it sends, notes when what was done."""

from __future__ import annotations

import asyncio
import re
import sys
from contextlib import suppress
from dataclasses import dataclass
from time import monotonic
from typing import TYPE_CHECKING, Final, TypeAlias

from drivers.learning.learn import MOST_DATA
from drivers.learning.lesson import Lesson, known_weight_g, phases_noted
from scaled.capture import Chunk
from scaled.commands.line_options import line_of
from scaled.core.errors import ConfigError, LinkRefused, only_error
from scaled.protocol import LineSettings, Poll, driver_names, load_driver

if TYPE_CHECKING:
    import argparse
    from collections.abc import Sequence

    from scaled.commands.new_capture import NewCapture
    from scaled.protocol import Link

_SILENT_S: Final = 1.5
"""Silence after which a scale is taken to speak only when asked, s."""

_ANSWER_S: Final = 0.5
_INTERVAL_S: Final = 0.1
_REST_S: Final = 2.0
"""How long it goes on to be heard after Enter, s: twice as long as a stable light takes."""

_OPENER: Final = "ascii-stream"
"""Its driver opens any line; what it would read does not matter here."""

_ESCAPE: Final = re.compile(r"\\(x[0-9a-fA-F]{2}|[rnt\\])")
_NAMED: Final = {"r": "\r", "n": "\n", "t": "\t", "\\": "\\"}

Held: TypeAlias = "tuple[Lesson, LineSettings, Poll | None]"


@dataclass(frozen=True, slots=True)
class Asked:
    """One thing to do: the phase it begins, the words, and whether it may be left out."""

    phase: str
    words: str
    optional: bool = False


def asked_for(args: argparse.Namespace) -> list[Asked]:
    """What is asked for, in order.

    Raises:
        ConfigError: No known weight was given, or it is none.
    """
    if args.weight is None:
        raise ConfigError("--weight", "", 'missing; name a weight you have, such as "200 g"')
    weights = [f"{known_weight_g(text):g} g" for text in (args.weight, args.second) if text]
    steps = [Asked("empty", "Take everything off the pan; when it shows zero, press Enter.")]
    steps += [Asked(g, f"Put {g} on the pan; when it rests, press Enter.") for g in weights]
    return [
        *steps,
        Asked(
            "unit key",
            "Press the unit key, wait two seconds, and so on through all units back to the first; "
            "then press Enter (s and Enter: there is no such key).",
            optional=True,
        ),
        Asked(
            "below zero",
            "Press the tare key; when it shows zero, take the weight off, let it rest and press "
            "Enter (s and Enter: skip).",
            optional=True,
        ),
    ]


def poll_of(text: str | None) -> Poll | None:
    r"""The request written with escapes such as ``R\r\n``; None when there is none."""
    if not text:
        return None
    request = _ESCAPE.sub(lambda m: _NAMED.get(m[1]) or chr(int(m[1][1:], 16)), text)
    if len(request) > 16 or any(ord(char) > 255 for char in request):
        raise ConfigError("--poll", "", r"write 1 to 16 characters, such as R\r\n or \x05")
    return Poll(request.encode("latin-1"), _INTERVAL_S)


class Teaching:
    """One lesson."""

    def __init__(
        self,
        device: str,
        args: argparse.Namespace,
        asked: Sequence[Asked],
        capture: NewCapture | None,
    ) -> None:
        """Teach at ``device`` what is ``asked``; ``capture`` keeps what is heard."""
        self._device = device
        self._line = line_of(args, LineSettings())
        self._poll = poll_of(args.poll)
        self._driver = load_driver(_OPENER)
        self._polls = [self._poll] if self._poll else _known_polls()
        self._asked = asked
        self._capture = capture
        self._pieces: list[tuple[float, bytes]] = []
        self._size = 0
        self._notes: dict[str, str] = {}
        self._began = monotonic()

    async def held(self) -> Held:
        """The lesson, how the line was set and what the scale was asked with.

        Raises:
            LinkError: The line cannot be opened, says nothing, or went away.
            ConfigError: The lesson was broken off.
        """
        link = await self._driver.open(self._device, self._line)
        try:
            await self._first_words(link)
            async with asyncio.TaskGroup() as tasks:
                hearing = tasks.create_task(self._hear(link))
                await self._teach()
                hearing.cancel()
        except BaseExceptionGroup as group:
            raise only_error(group) from group
        finally:
            await link.close()
        phases = phases_noted(self._notes, self._device)
        return Lesson(self._pieces, phases), self._line, self._poll

    async def _first_words(self, link: Link) -> None:
        """Find out whether it speaks by itself or what it answers to; raises LinkRefused."""
        if self._poll is None and await self._heard_within(link, _SILENT_S):
            return
        for poll in self._polls:
            await link.write(poll.request)
            if await self._heard_within(link, _ANSWER_S):
                self._poll = poll
                return
        remedy = "check that it is on and sends, the cable, --baud, --framing and --poll"
        raise LinkRefused(self._device, "says nothing", remedy)

    async def _heard_within(self, link: Link, within_s: float) -> bool:
        with suppress(TimeoutError):
            async with asyncio.timeout(within_s):
                self._keep(await link.read())
                return True
        return False

    async def _hear(self, link: Link) -> None:
        while True:
            if self._poll:
                await link.write(self._poll.request)
            await self._heard_within(link, self._poll.interval_s if self._poll else _SILENT_S)
            if self._poll:
                await asyncio.sleep(self._poll.interval_s)

    def _keep(self, data: bytes) -> None:
        t = round(monotonic() - self._began, 3)
        self._size += len(data)
        if self._size > MOST_DATA:
            raise ConfigError(self._device, "", "the lesson is too long; begin again and be brief")
        self._pieces.append((t, data))
        if self._capture:
            self._capture.keep(Chunk(t, data))

    async def _teach(self) -> None:
        for asked in self._asked:
            key = f"at {monotonic() - self._began:.3f}"
            print(asked.words, flush=True)
            answer = await _line_typed()
            if asked.optional and answer.lower().startswith("s"):
                continue
            self._notes[key] = asked.phase
            if self._capture:
                self._capture.note(key, asked.phase)
            await asyncio.sleep(_REST_S)


def _known_polls() -> list[Poll]:
    """What the known formats are asked with."""
    polls = {}
    for name in driver_names():
        poll = load_driver(name).poll
        if poll is not None:
            polls[poll.request] = poll
    return list(polls.values())


async def _line_typed() -> str:
    """The next line from the person; raises ConfigError at the end of what they can type."""
    loop = asyncio.get_running_loop()
    typed: asyncio.Future[str] = loop.create_future()

    def ready() -> None:
        if not typed.done():
            typed.set_result(sys.stdin.readline())

    loop.add_reader(sys.stdin.fileno(), ready)
    try:
        line = await typed
    finally:
        loop.remove_reader(sys.stdin.fileno())
    if not line:
        raise ConfigError("learn", "", "broken off: nobody there to press Enter")
    return line
