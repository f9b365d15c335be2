"""``scaled demo``: the whole station on a simulated scale and cook."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from scaled.commands.options import number, whole

if TYPE_CHECKING:
    import argparse

PROFILE: Final = "winter-barley-bowl"
WATCHED_SPEED: Final = 1.0
"""On a screen a build takes as long as in a kitchen."""
PRINTED_SPEED: Final = 6.0
"""Without a terminal nobody wants to wait."""
FASTEST: Final = 20.0
"""Faster than this the event loop's own jitter would show in the weights."""


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command's options."""
    parser = commands.add_parser(
        "demo",
        help="see it work on a simulated scale and cook",
        description="Run the whole station on a simulated scale and an invented cook: the daemon, "
        "its journal and the cook's screen, or lines of text without a terminal. Needs no scale.",
        epilog="Example: scaled demo --profile millstone-flatbread --speed 2",
    )
    parser.add_argument("--profile", default=PROFILE, metavar="ID|FILE", help="what is built")
    parser.add_argument("--builds", type=whole(1), default=3, metavar="N", help="default: 3")
    parser.add_argument(
        "--speed",
        type=number(FASTEST),
        metavar="X",
        help="times faster than a kitchen; default: 1, or 6 without a terminal",
    )
    parser.add_argument(
        "--seed", type=whole(0), default=1, metavar="N", help="another cook; default: 1"
    )
    parser.add_argument(
        "--ble", action="store_true", help="the scale is on a simulated Bluetooth radio"
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Run the demo.

    Raises:
        ScaledError: The profile is wrong, or the records cannot be kept.
    """
    from scaled.commands.demonstration import Wanted, demonstrate  # noqa: PLC0415 -- slow import
    from scaled.screens.terminal import on_terminal  # noqa: PLC0415

    watched = on_terminal()
    speed = (WATCHED_SPEED if watched else PRINTED_SPEED) if args.speed is None else args.speed
    wanted = Wanted(
        profile=args.profile, speed=speed, builds=args.builds, seed=args.seed, ble=args.ble
    )
    demonstrate(wanted, watched=watched)
    return 0
