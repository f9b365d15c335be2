"""The command line: finds the command, runs it, turns errors into one line.

Exit codes: 0 done, 1 ran but something did not hold, 2 the user's input was wrong.
"""

from __future__ import annotations

import argparse
import sys
from importlib import import_module
from typing import Final

from scaled.core.errors import ScaledError

COMMANDS: Final = ("demo", "serve", "bench", "replay", "records", "profile", "sim")


def build_parser() -> argparse.ArgumentParser:
    """The whole tree of commands and options."""
    parser = argparse.ArgumentParser(
        prog="scaled",
        description="Build-check station: follows a kitchen scale and checks each portion.",
        epilog="Try it without a scale: scaled demo",
    )
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    for name in COMMANDS:
        import_module(f"scaled.commands.{name}").add(commands)
    return parser


def main(argv: list[str] | None = None) -> int:
    """Run one command.

    Args:
        argv: Words after the program's name; the process's own when None.

    Returns:
        The exit code.
    """
    try:
        args = build_parser().parse_args(argv)
        return int(args.run(args))
    except ScaledError as err:
        print(f"scaled: {err}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        return 130
    except BrokenPipeError:
        # The reader of our output (head, a closed pager) has what it wanted.
        sys.stderr.close()
        return 0
