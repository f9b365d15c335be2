"""``scaled profile``: list, read and check build profiles."""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from typing import TYPE_CHECKING, Any

from scaled.commands.options import add_plate, read_plate
from scaled.core.errors import InputError

if TYPE_CHECKING:
    from scaled.core.profile import BuildProfile
    from scaled.core.scale import Scale

_NAME = "a profile's id, or the path of a file"


def add(commands: argparse._SubParsersAction[Any]) -> None:
    """Declare the command and its four actions."""
    parser = commands.add_parser(
        "profile",
        help="list, read and check build profiles",
        description="Lists, shows and checks build profiles.",
        epilog="Example: scaled profile check my-bowl.toml --division 1g",
    )
    actions = parser.add_subparsers(required=True, metavar="ACTION")
    _add_check(actions)
    _add_show(actions)
    _add(actions, "list", "list the shipped profiles", "scaled profile list").set_defaults(
        run=_list
    )
    schema = _add(
        actions,
        "schema",
        "print the JSON Schema of a profile, for editors",
        "scaled profile schema > build-profile.schema.json",
    )
    schema.set_defaults(run=_schema)


def _add(
    actions: argparse._SubParsersAction[Any], name: str, summary: str, example: str
) -> argparse.ArgumentParser:
    parser: argparse.ArgumentParser = actions.add_parser(
        name, help=summary, description=f"{summary.capitalize()}.", epilog=f"Example: {example}"
    )
    return parser


def _add_check(actions: argparse._SubParsersAction[Any]) -> None:
    parser = _add(
        actions,
        "check",
        "check that a profile holds together and that a scale can judge it",
        "scaled profile check winter-barley-bowl my-bowl.toml --division 1g",
    )
    parser.add_argument("names", nargs="+", metavar="NAME", help=_NAME)
    add_plate(parser)
    parser.set_defaults(run=_check)


def _add_show(actions: argparse._SubParsersAction[Any]) -> None:
    example = "scaled profile show winter-barley-bowl"
    parser = _add(actions, "show", "print a profile as a card", example)
    parser.add_argument("name", metavar="NAME", help=_NAME)
    parser.set_defaults(run=_show)


def _check(args: argparse.Namespace) -> int:
    """Print the findings of each profile; 1 with an error among them, 2 with a bad file."""
    from scaled.catalogue import load_profile  # noqa: PLC0415 -- slow: only when run

    scale = read_plate(args)
    worst = 0
    for name in args.names:
        try:
            found = _report(name, load_profile(name), scale)
        except InputError as err:
            # The other files are still worth checking.
            print(f"scaled: {err}", file=sys.stderr)
            found = 2
        worst = max(worst, found)
    return worst


def _report(name: str, profile: BuildProfile, scale: Scale) -> int:
    from scaled.core.profile_check import Severity, check_profile  # noqa: PLC0415

    findings = check_profile(profile, scale.division_g, scale.accuracy)
    for finding in findings:
        print(f"{name}: {finding}")
    counts = Counter(finding.severity for finding in findings)
    print(f"{name}: " + ", ".join(_tally(counts[severity], severity) for severity in Severity))
    return 1 if counts[Severity.ERROR] else 0


def _tally(count: int, severity: str) -> str:
    return f"{count} {severity}" if count == 1 else f"{count} {severity}s"


def _show(args: argparse.Namespace) -> int:
    from scaled.catalogue import load_profile  # noqa: PLC0415
    from scaled.core.profile_card import profile_card  # noqa: PLC0415

    print("\n".join(profile_card(load_profile(args.name))))
    return 0


def _list(_: argparse.Namespace) -> int:
    from scaled.catalogue import load_profile, profile_ids  # noqa: PLC0415

    for profile in map(load_profile, profile_ids()):
        print(f"{profile.id:<24}{profile.title}, revision {profile.revision}")
    return 0


def _schema(_: argparse.Namespace) -> int:
    from scaled.core.profile_schema import profile_schema  # noqa: PLC0415

    print(json.dumps(profile_schema(), indent=2))
    return 0
