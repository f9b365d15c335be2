"""Options that say where a scale is and how its line is set, and how to stop listening to it."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from scaled.commands.options import one_of, whole
from scaled.core.errors import ConfigError

if TYPE_CHECKING:
    import argparse
    from collections.abc import Coroutine, Iterable

    from scaled.protocol import LineSettings


def add_line(parser: argparse.ArgumentParser) -> None:
    """Declare the options."""
    parser.add_argument(
        "--device",
        metavar="NAME",
        help="usb:SERIAL, a path, socket://HOST:PORT or a Bluetooth address",
    )
    parser.add_argument("--baud", metavar="N", type=whole(1), help="speed of the line")
    parser.add_argument(
        "--framing", metavar="8N1", type=one_of(_framings), help="framing of the line"
    )


def device_of(args: argparse.Namespace) -> str:
    """The device.

    Raises:
        ConfigError: None was given.
    """
    device: str | None = args.device
    if not device:
        raise ConfigError("--device", "", "missing; see what is there with: scaled scale find")
    return device


def line_of(args: argparse.Namespace, usual: LineSettings) -> LineSettings:
    """The settings as given, otherwise as usual."""
    from scaled.protocol import LineSettings  # noqa: PLC0415

    return LineSettings(args.baud or usual.baud, args.framing or usual.framing)


async def until_signalled(listening: Coroutine[None, None, None]) -> None:
    """Listen to the end, or until SIGINT or SIGTERM."""
    import asyncio  # noqa: PLC0415
    import signal  # noqa: PLC0415

    task = asyncio.current_task()
    loop = asyncio.get_running_loop()
    for number in (signal.SIGINT, signal.SIGTERM):
        loop.add_signal_handler(number, task.cancel if task else loop.stop)
    with suppress(asyncio.CancelledError):
        await listening


def _framings() -> Iterable[str]:
    from typing import get_args  # noqa: PLC0415

    from scaled.protocol import Framing  # noqa: PLC0415

    return get_args(Framing)
