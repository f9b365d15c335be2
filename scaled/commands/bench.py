"""``scaled bench``: the cook's screen."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import argparse


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command's options."""
    parser = commands.add_parser(
        "bench",
        help="show the cook's screen",
        description="Show the cook's screen of a running station: the ingredient, its weight, "
        "what to do next and how the steps went. Closing it never touches a build.",
        epilog="Example: scaled bench --connect http://127.0.0.1:8750 --station line-1 --bell",
    )
    parser.add_argument(
        "--connect",
        metavar="ADDRESS",
        help="where the station listens: unix:PATH or http://127.0.0.1:PORT; "
        "default: where scaled serve listens by default",
    )
    parser.add_argument(
        "--station", metavar="NAME", help="which station; needed when there are several"
    )
    parser.add_argument(
        "--bell", action="store_true", help="ring the terminal's bell when there is news"
    )
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Show the screen until it is closed.

    Raises:
        ConfigError: The address or the station is wrong, or there is no terminal.
    """
    from scaled.config import default_address  # noqa: PLC0415
    from scaled.core.errors import ConfigError  # noqa: PLC0415
    from scaled.screens.bench import bench_app  # noqa: PLC0415
    from scaled.screens.terminal import on_terminal  # noqa: PLC0415

    app = bench_app(args.connect or default_address(), args.station, bell=args.bell)
    if not on_terminal():
        raise ConfigError("bench", "", "there is no terminal here to draw on; run it in one")
    app.run()
    if app.fault is not None:
        raise app.fault
    return app.return_code or 0
