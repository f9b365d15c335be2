"""A simulated scale run by hand from a terminal: typed words and signals move it."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
from collections.abc import AsyncIterator, Callable, Mapping
from contextlib import AbstractAsyncContextManager
from typing import Final, Protocol

from simulators.deed import Deed
from simulators.scale import Port, PortError, SimulatedScale

_CHUNK: Final = 4096
_SIGNALS: Final = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


class Stand(Port, Protocol):
    """A port to which things may be done."""

    @property
    def deeds(self) -> Mapping[str, Deed]:
        """What may be done to it, by the word for it."""
        ...


def run_standalone(
    scale: SimulatedScale, stand: AbstractAsyncContextManager[Stand], ready: Callable[[], None]
) -> None:
    """Run until the hands are done, ``quit`` is typed or a signal asks to end.

    Args:
        scale: What to run.
        stand: Its port; gone again afterwards.
        ready: Called once when the port can be opened.

    Raises:
        PortError: The port cannot be made.
    """
    asyncio.run(_run(scale, stand, ready))


async def _run(
    scale: SimulatedScale, stand: AbstractAsyncContextManager[Stand], ready: Callable[[], None]
) -> None:
    loop = asyncio.get_running_loop()
    for number in _SIGNALS:
        loop.add_signal_handler(number, scale.stop)
    async with stand as port:
        ready()
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(scale.run(port))
            obeying = tasks.create_task(_obey(scale, port.deeds))
            await scale.done.wait()
            scale.stop()
            obeying.cancel()


def deeds_of(scale: SimulatedScale) -> dict[str, Deed]:
    """What may be done to any scale, by the word for it."""

    async def hush() -> None:
        scale.silent = True

    async def speak() -> None:
        scale.silent = False

    async def nothing() -> None:
        return

    async def leave() -> None:
        scale.stop()

    return {
        "hush": Deed(hush, rests=True),
        "speak": Deed(speak, rests=False),
        "pause": Deed(nothing, rests=True),
        "go": Deed(nothing, rests=False),
        "quit": Deed(leave),
    }


async def _obey(scale: SimulatedScale, special: Mapping[str, Deed]) -> None:
    deeds = {**special, **deeds_of(scale)}
    async for word in _typed_lines():
        deed = deeds.get(word)
        if deed is not None:
            await _do(word, deed, scale)
        elif word:
            _complain(f"{word}: write {', '.join(deeds)}")


async def _do(word: str, deed: Deed, scale: SimulatedScale) -> None:
    if deed.rests is True:
        scale.pause()
    try:
        await deed.do()
    except PortError as err:
        _complain(f"{word}: {err}")
    if deed.rests is False:
        scale.go()


def _complain(line: str) -> None:
    sys.stderr.write(f"{line}\n")


async def _typed_lines() -> AsyncIterator[str]:
    """Lines of standard input as they come; none where there is nobody to type them."""
    if sys.stdin is None:
        return
    signal.signal(signal.SIGTTIN, signal.SIG_IGN)  # in the background reading fails instead
    loop = asyncio.get_running_loop()
    typed = asyncio.StreamReader()
    descriptor = sys.stdin.fileno()

    def take() -> None:
        try:
            data = os.read(descriptor, _CHUNK)
        except OSError:
            data = b""
        if data:
            typed.feed_data(data)
        else:
            loop.remove_reader(descriptor)
            typed.feed_eof()

    try:
        loop.add_reader(descriptor, take)
    except PermissionError:  # a file or /dev/null: nothing will ever be typed there
        return
    try:
        async for line in typed:
            yield line.decode(errors="replace").strip()
    finally:
        loop.remove_reader(descriptor)
