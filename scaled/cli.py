"""The command line: finds the command, runs it, turns errors into one line.

Exit codes: 0 done, 1 ran but something did not hold, 2 the user's input was wrong.
"""

from __future__ import annotations

import argparse
import sys
from importlib import import_module
from io import TextIOWrapper
from typing import TYPE_CHECKING, Final, NoReturn

from scaled.core.errors import ConfigError, ScaledError
from scaled.core.wording import quoted

if TYPE_CHECKING:
    from collections.abc import Sequence

PROGRAM: Final = "scaled"
COMMANDS: Final = ("demo", "serve", "bench", "replay", "records", "profile", "scale", "sim")


class Parser(argparse.ArgumentParser):
    """Refuses wrong words in one line that names the command; its subcommands do the same."""

    def parse_known_args(  # type: ignore[override]  # no namespaces of other classes here
        self, args: Sequence[str] | None = None, namespace: argparse.Namespace | None = None
    ) -> tuple[argparse.Namespace, list[str]]:
        """Parse; the parser that is given an unknown word refuses it, not the one above it.

        Raises:
            ConfigError: The words are wrong.
        """
        known, unknown = super().parse_known_args(args, namespace)
        if unknown:
            self.error(f"{quoted(unknown[0])} is not known here")
        return known, unknown

    def error(self, message: str) -> NoReturn:
        """Refuse what was written.

        Raises:
            ConfigError: Always.
        """
        command = self.prog.removeprefix(PROGRAM).strip()
        reason = message.removeprefix("argument ")
        raise ConfigError(command, "", f"{reason}; see {self.prog} --help")


def build_parser() -> Parser:
    """The whole tree of commands and options."""
    parser = Parser(
        prog=PROGRAM,
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
    _bear_any_letter()
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


def _bear_any_letter() -> None:
    """Print "?" where a terminal lacks a letter of an author's words, rather than fail."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, TextIOWrapper):
            stream.reconfigure(errors="replace")
