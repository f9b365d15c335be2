"""A scale that goes on sending at a pseudo-terminal while a command runs, and the command."""

from __future__ import annotations

import asyncio
import os
import sys
import threading
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from asyncio.subprocess import Process
    from collections.abc import Callable, Iterator

PERIOD_S = 0.02


@contextmanager
def sending(
    scale_end: int, frames: Callable[[int], bytes], period_s: float = PERIOD_S
) -> Iterator[None]:
    """Send frame after frame, by its number, until the block ends."""
    over = threading.Event()

    def send() -> None:
        number, rest = 0, b""
        while not over.wait(period_s):
            if not rest:
                rest = frames(number)
                number += 1
            with suppress(BlockingIOError):  # full: nobody reads at this moment
                rest = rest[os.write(scale_end, rest) :]

    os.set_blocking(scale_end, False)
    thread = threading.Thread(target=send)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()


async def started(*words: str) -> Process:
    """``scaled scale`` with these words, as a process of its own."""
    return await asyncio.create_subprocess_exec(
        *(sys.executable, "-m", "scaled", "scale", *words),
        stdin=asyncio.subprocess.PIPE,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.PIPE,
    )


async def ended(process: Process) -> tuple[int | None, str, str]:
    """Exit code, output and errors, once it is over."""
    async with asyncio.timeout(60):
        out, err = await process.communicate()
    return process.returncode, out.decode(), err.decode()
