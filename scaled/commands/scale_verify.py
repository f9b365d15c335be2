"""``scaled scale verify``: checks a scale with test weights, step by step."""

from __future__ import annotations

from time import monotonic
from typing import TYPE_CHECKING, Any

from scaled.commands.options import add_plate

if TYPE_CHECKING:
    import argparse

    from scaled.commands.check_request import Request
    from scaled.core.errors import JournalBusy
    from scaled.protocol import Driver
    from scaled.records.check import ScaleCheck
    from scaled.records.journal import Journal
    from scaled.station.check_run import CheckingState
    from scaled.station.link import LinkStatus


def add(actions: argparse._SubParsersAction[Any]) -> None:
    """Declare the command's options."""
    parser = actions.add_parser(
        "verify",
        help="check a scale with test weights",
        description="Check a scale with the test weights at hand: zero return, repeatability, "
        "corners and linearity, judged by OIML R 76 or NIST Handbook 44. It asks for one weight "
        "after the other and follows by itself; the result is kept in the journal. A station that "
        "runs at this scale makes the check itself. Not a legal verification.",
        epilog="Example: scaled scale verify --device /dev/ttyUSB0 --format ascii-stream "
        "--division 1g --class III --capacity 6kg --weight 500g --weight 2kg",
    )
    parser.add_argument("--config", metavar="FILE", help="the station's configuration file")
    parser.add_argument(
        "--station", metavar="NAME", dest="name", help="which of its stations; default: the one"
    )
    parser.add_argument("--device", metavar="PATH|URL", help="the scale, without --config")
    parser.add_argument("--format", metavar="NAME|FILE", help="its wire format")
    add_plate(parser)
    parser.add_argument("--capacity", metavar="WEIGHT", help="Max on the plate, such as 6kg")
    parser.add_argument("--baud", metavar="N", help="speed of the line; default: the format's")
    parser.add_argument("--framing", metavar="8N1", help="framing; default: the format's")
    parser.add_argument("--state", metavar="DIR", help="folder of the journal")
    parser.add_argument(
        "--weight",
        metavar="WEIGHT",
        action="append",
        default=[],
        help="a test weight; repeat; default: test_weights of the configuration",
    )
    parser.add_argument(
        "--weight-error",
        metavar="WEIGHT",
        help="how far off each test weight may be; default: as much as good ones may be",
    )
    parser.add_argument(
        "--standard",
        metavar="NAME",
        help="oiml-r76 or nist-hb44; default: check_standard of the configuration, else oiml-r76",
    )
    parser.add_argument(
        "--new", action="store_true", help="a new or repaired scale: half of the tolerance in use"
    )
    parser.add_argument("--badge", metavar="CODE", help="who checks, such as C-014")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Make the check, or have the station make it that runs at the scale; 1 when it is not fit.

    Raises:
        InputError: An option is wrong, or the check cannot be made with it.
        LinkRefused: The scale's line cannot be opened.
        CommandRefused: The station cannot make it now.
        JournalError: The check cannot be kept.
    """
    from contextlib import closing  # noqa: PLC0415

    from scaled.commands.check_request import read_request  # noqa: PLC0415 -- slow imports
    from scaled.config import journal_in  # noqa: PLC0415
    from scaled.core.errors import JournalBusy  # noqa: PLC0415
    from scaled.protocol import load_driver  # noqa: PLC0415
    from scaled.records.check_card import check_card  # noqa: PLC0415
    from scaled.records.journal import Journal  # noqa: PLC0415

    request = read_request(args)
    driver = load_driver(request.plan.station.format)
    try:
        # First the journal: a check that could not be kept would be made in vain.
        with closing(Journal.open(journal_in(request.config.state))) as journal:
            check = _make(request, driver, journal)
    except JournalBusy as busy:
        check = _have_made(request, busy)
    if check is None:
        print("the check was abandoned; nothing of it is kept")
        return 1
    print("", *check_card(check), sep="\n")
    return 0 if check.verification.holds else 1


def _make(request: Request, driver: Driver, journal: Journal) -> ScaleCheck | None:
    """Make it at the scale's own line."""
    import asyncio  # noqa: PLC0415
    from datetime import UTC, datetime  # noqa: PLC0415
    from importlib.metadata import version  # noqa: PLC0415

    from scaled.station.checking import make_check  # noqa: PLC0415

    made = asyncio.run(make_check(request.plan, driver, tell, monotonic))
    check = made.record(datetime.now(UTC), version("scaled-station"))
    if check is not None:
        journal.note_check(check, made.taken)
    return check


def _have_made(request: Request, busy: JournalBusy) -> ScaleCheck | None:
    """Have the daemon make it that writes to the journal; None when it was abandoned there."""
    import asyncio  # noqa: PLC0415

    from scaled.commands.check_there import check_there, newest_check  # noqa: PLC0415

    before = newest_check(request)
    if not asyncio.run(check_there(request, tell)):
        raise busy
    check = newest_check(request)
    return None if check == before else check


def tell(news: CheckingState | LinkStatus) -> None:
    """Say what is to be done, or what is in the way."""
    from scaled.screens.check_words import hitch_line  # noqa: PLC0415
    from scaled.station.link import LinkStatus  # noqa: PLC0415

    if isinstance(news, LinkStatus):
        print(f"         {news.detail}", flush=True)
    elif news.hitch is not None:
        print(f"         {hitch_line(news.hitch)}", flush=True)
    else:
        what = "empty the pan" if news.empty else f"put on {news.load}"
        what += ": the check was abandoned" if news.abandoned else ""
        print(f"{news.number:>2} of {len(news.loads):<2} {what}", flush=True)
