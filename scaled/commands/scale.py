"""``scaled scale``: find, watch, learn and verify the scales themselves; one module an action."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    import argparse

ACTIONS: Final = ("find", "watch", "learn", "verify")
"""Each has its module ``scaled.commands.scale_NAME`` with an ``add(actions)``."""


def add(commands: argparse._SubParsersAction[Any]) -> None:
    """Declare the command and its actions."""
    parser = commands.add_parser(
        "scale",
        help="see to the scales themselves",
        description="See to the scales themselves, beside what is built on them.",
        epilog="Example: scaled scale verify --device /dev/ttyUSB0 --format ascii-stream "
        "--division 1g --class III --capacity 6kg --weight 2kg",
    )
    actions = parser.add_subparsers(required=True, metavar="ACTION")
    for name in ACTIONS:
        import_module(f"scaled.commands.scale_{name}").add(actions)
