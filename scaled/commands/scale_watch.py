"""``scaled scale watch``: what a scale sends, as it sends it, beside what is read from it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from scaled.commands.line_options import add_line
from scaled.commands.options import whole

if TYPE_CHECKING:
    import argparse


def add(actions: argparse._SubParsersAction[Any]) -> None:
    """Declare the command's options."""
    parser = actions.add_parser(
        "watch",
        help="show what a scale sends beside what is read from it",
        description="Show each frame as it was sent beside what is read from it, until Ctrl-C; "
        "every ten seconds and at the end the rate, the division seen, the dropouts and how many "
        "frames were dropped in one line. With --capture all bytes are kept in a file, with their "
        "times. The station at this scale must be stopped meanwhile.",
        epilog="Example: scaled scale watch --device /dev/ttyUSB0 --format ascii-stream "
        "--capture my-scale.capture",
    )
    add_line(parser)
    parser.add_argument("--format", metavar="NAME|FILE", required=True, help="its wire format")
    parser.add_argument("--capture", metavar="FILE", help="keep the bytes in this new file")
    parser.add_argument("--note", metavar="TEXT", help="where the capture comes from")
    parser.add_argument("--readings", metavar="N", type=whole(1), help="stop after so many")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Watch until a signal; 1 when nothing could be read.

    Raises:
        InputError: An option is wrong, or the capture cannot be written.
        LinkRefused: The line cannot be opened.
    """
    import asyncio  # noqa: PLC0415

    from scaled.commands.line_options import device_of, line_of, until_signalled  # noqa: PLC0415
    from scaled.commands.new_capture import new_capture  # noqa: PLC0415
    from scaled.protocol import load_driver  # noqa: PLC0415
    from scaled.station.link import ScaleConfig  # noqa: PLC0415
    from scaled.station.watching import Watch, watch  # noqa: PLC0415

    driver, device = load_driver(args.format), device_of(args)
    config = ScaleConfig(args.format, device, line_of(args, driver.line))
    seen = Watch(print_line, args.readings)
    notes = {"format": args.format, "provenance": args.note or "captured by scaled scale watch"}
    with new_capture(args.capture, notes) as capture:
        keep = capture.keep if capture else None
        asyncio.run(until_signalled(watch(config, driver, seen, keep)))
    print(seen.summary())
    return 0 if seen.readings else 1


def print_line(text: str) -> None:
    """Print a line at once."""
    print(text, flush=True)
