"""A simulated scale run by hand from a terminal: typed words and signals move it."""

from __future__ import annotations

import asyncio
import os
import signal
import sys
from collections.abc import AsyncIterator, Callable
from pathlib import Path
from typing import Final

from simulators.pty_port import PortError, PtyPort
from simulators.scale import SimulatedScale

WORDS: Final = ("unplug", "plug", "pause", "go", "quit")
"""What may be typed, one a line."""

_CHUNK: Final = 4096
_SIGNALS: Final = (signal.SIGINT, signal.SIGTERM, signal.SIGHUP)


def run_standalone(scale: SimulatedScale, link: Path, ready: Callable[[], None]) -> None:
    """Run until the hands are done, ``quit`` is typed or a signal asks to end.

    Args:
        scale: What to run.
        link: Where its port is found; gone again afterwards.
        ready: Called once when the port can be opened.

    Raises:
        PortError: The link cannot be made.
    """
    asyncio.run(_run(scale, link, ready))


async def _run(scale: SimulatedScale, link: Path, ready: Callable[[], None]) -> None:
    loop = asyncio.get_running_loop()
    for number in _SIGNALS:
        loop.add_signal_handler(number, scale.stop)
    async with PtyPort(link) as port:
        ready()
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(scale.run(port))
            obeying = tasks.create_task(_obey(scale, port))
            await scale.done.wait()
            scale.stop()
            obeying.cancel()


async def _obey(scale: SimulatedScale, port: PtyPort) -> None:
    async for word in _typed_lines():
        match word:
            case "unplug":
                scale.pause()  # the cook sees it on the screen and waits
                await port.unplug()
            case "plug":
                await _plug(port)
                scale.go()
            case "pause":
                scale.pause()
            case "go":
                scale.go()
            case "quit":
                scale.stop()
            case "":
                pass
            case _:
                _complain(f"{word}: write {', '.join(WORDS)}")


async def _plug(port: PtyPort) -> None:
    try:
        await port.plug()
    except PortError as err:
        _complain(f"{port.link}: {err}")


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
