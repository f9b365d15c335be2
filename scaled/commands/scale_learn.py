"""``scaled scale learn``: finds out how an unknown scale speaks, and writes its description."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

from scaled.commands.line_options import add_line
from scaled.core.errors import ConfigError

if TYPE_CHECKING:
    import argparse

    from drivers.learning.learn import Learnt
    from drivers.learning.lesson import Lesson
    from scaled.protocol import LineSettings, Poll


def add(actions: argparse._SubParsersAction[Any]) -> None:
    """Declare the command's options."""
    parser = actions.add_parser(
        "learn",
        help="find out how an unknown scale speaks",
        description="Find out how an unknown scale speaks and write a description of it. It asks "
        "for an empty pan, one known weight, the unit key and a weight below zero; what cannot be "
        "shown is skipped and then not sure. A capture in which that is noted will do as well.",
        epilog="Example: scaled scale learn --device /dev/ttyUSB0 --weight 200g my-scale.toml",
    )
    parser.add_argument("out", metavar="FILE", help="the description to be written, .toml")
    add_line(parser)
    parser.add_argument("--weight", metavar="WEIGHT", help='a weight that is known, "200 g"')
    parser.add_argument("--second", metavar="WEIGHT", help="another one, to be surer")
    parser.add_argument(
        "--poll", metavar="TEXT", help=r"what it is asked with, such as R\r\n; default: tried"
    )
    parser.add_argument("--from", metavar="FILE", dest="source", help="learn from a capture")
    parser.add_argument("--capture", metavar="FILE", help="keep what was heard in this new file")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Learn and write; 1 when nothing fits what was heard.

    Raises:
        InputError: An option, the capture or a path is wrong.
        LinkError: The line cannot be opened, or went away.
    """
    from pathlib import Path  # noqa: PLC0415

    from drivers.learning.findings import described_toml, findings  # noqa: PLC0415
    from drivers.learning.learn import learn  # noqa: PLC0415
    from scaled.records.export import write_lines  # noqa: PLC0415

    if not args.out.endswith(".toml"):
        raise ConfigError(args.out, "", "a description's name ends with .toml")
    lesson, line, poll = _recorded(args) if args.source else _live(args)
    learnt = learn(lesson)
    if learnt is None:
        print(
            "nothing learnt: no frame fits what was on the pan; check the weight, let it rest "
            "longer, or set the line with --baud and --framing",
            file=sys.stderr,
        )
        return 1
    learnt = _with_line(learnt, line, poll)
    for finding in findings(learnt, lesson):
        print(finding)
    write_lines(Path(args.out), [described_toml(learnt, lesson)])
    device = args.device or "NAME"
    print(f"{args.out}: try it with: scaled scale watch --device {device} --format {args.out}")
    return 0


def _recorded(args: argparse.Namespace) -> tuple[Lesson, LineSettings, Poll | None]:
    from pathlib import Path  # noqa: PLC0415

    from drivers.learning.learn import MOST_DATA  # noqa: PLC0415
    from drivers.learning.lesson import Lesson, phases_noted  # noqa: PLC0415
    from scaled.capture import read_capture  # noqa: PLC0415
    from scaled.commands.line_options import line_of  # noqa: PLC0415
    from scaled.commands.teaching import poll_of  # noqa: PLC0415
    from scaled.protocol import LineSettings  # noqa: PLC0415

    capture = read_capture(Path(args.source))
    phases = phases_noted(capture.notes, args.source)
    lesson = Lesson([(chunk.t, chunk.data) for chunk in capture.chunks], phases)
    if len(lesson.data) > MOST_DATA:
        reason = f"more than {MOST_DATA // 1024} kB: keep a shorter piece of each thing shown"
        raise ConfigError(args.source, "", reason)
    return lesson, line_of(args, LineSettings()), poll_of(args.poll)


def _live(args: argparse.Namespace) -> tuple[Lesson, LineSettings, Poll | None]:
    import asyncio  # noqa: PLC0415

    from scaled.commands.line_options import device_of  # noqa: PLC0415
    from scaled.commands.new_capture import new_capture  # noqa: PLC0415
    from scaled.commands.teaching import Teaching, asked_for  # noqa: PLC0415

    device, asked = device_of(args), asked_for(args)
    notes = {"format": args.out, "provenance": "a lesson, heard by scaled scale learn"}
    with new_capture(args.capture, notes) as capture:
        teaching = Teaching(device, args, asked, capture)
        return asyncio.run(teaching.held())


def _with_line(learnt: Learnt, line: LineSettings, poll: Poll | None) -> Learnt:
    """The same with how the line was set and the scale was asked."""
    from dataclasses import replace  # noqa: PLC0415

    from drivers.described import model  # noqa: PLC0415

    changed: dict[str, object] = {
        "serial": model.Serial.model_validate({"baud": line.baud, "framing": line.framing})
    }
    if poll is not None:
        request = poll.request.decode("latin-1")
        changed["poll"] = model.Poll(request=request, interval_s=poll.interval_s)
    return replace(learnt, description=learnt.description.model_copy(update=changed))
