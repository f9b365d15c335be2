"""``scaled scale verify``: checks a scale with test weights, step by step."""

from __future__ import annotations

from time import monotonic
from typing import TYPE_CHECKING, Any

from scaled.commands.options import add_plate

if TYPE_CHECKING:
    import argparse

    from scaled.core.load_asked import Asked, Hitch
    from scaled.station.link import LinkStatus


def add(actions: argparse._SubParsersAction[Any]) -> None:
    """Declare the command's options."""
    parser = actions.add_parser(
        "verify",
        help="check a scale with test weights",
        description="Check a scale with the test weights at hand: zero return, repeatability, "
        "corners and linearity, judged by OIML R 76 or NIST Handbook 44. It asks for one weight "
        "after the other and follows by itself; the result is kept in the journal. The station "
        "at this scale must be stopped meanwhile. Not a legal verification.",
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
        "--weight", metavar="WEIGHT", action="append", default=[], help="a test weight; repeat"
    )
    parser.add_argument(
        "--weight-error",
        metavar="WEIGHT",
        help="how far off each test weight may be; default: as much as good ones may be",
    )
    parser.add_argument(
        "--standard", metavar="NAME", default="oiml-r76", help="oiml-r76 (default) or nist-hb44"
    )
    parser.add_argument(
        "--new", action="store_true", help="a new or repaired scale: half of the tolerance in use"
    )
    parser.add_argument("--badge", metavar="CODE", help="who checks, such as C-014")
    parser.set_defaults(run=run)


def run(args: argparse.Namespace) -> int:
    """Make the check; 1 when the scale is not fit.

    Raises:
        InputError: An option is wrong, or the check cannot be made with it.
        LinkRefused: The scale's line cannot be opened.
        JournalError: The check cannot be kept.
    """
    import asyncio  # noqa: PLC0415
    from contextlib import closing  # noqa: PLC0415
    from datetime import UTC, datetime  # noqa: PLC0415

    from scaled.commands.check_request import read_request  # noqa: PLC0415 -- slow imports
    from scaled.protocol import load_driver  # noqa: PLC0415
    from scaled.records.check_card import check_card  # noqa: PLC0415
    from scaled.records.journal import Journal  # noqa: PLC0415
    from scaled.station.checking import make_check  # noqa: PLC0415

    request = read_request(args)
    driver = load_driver(request.station.format)
    # First the journal: a check that could not be kept would be made in vain.
    with closing(Journal.open(request.journal)) as journal:
        made = asyncio.run(make_check(request.station, driver, request.checkup, tell, monotonic))
        check = request.record(made, datetime.now(UTC))
        journal.note_check(check, made.taken)
    print("", *check_card(check), sep="\n")
    return 0 if check.verification.holds else 1


def tell(news: Asked | LinkStatus) -> None:
    """Say what is to be done, or what is in the way."""
    from scaled.core.load_asked import Asked  # noqa: PLC0415

    if not isinstance(news, Asked):
        print(f"         {news.detail}", flush=True)
    elif news.hitch is not None:
        print(f"         {_hitch_words(news.hitch)}", flush=True)
    else:
        what = f"put on {news.lay}" if news.lay else "empty the pan"
        print(f"{news.number:>2} of {news.of:<2} {what}", flush=True)


def _hitch_words(hitch: Hitch) -> str:
    from scaled.core.load_asked import Hitch  # noqa: PLC0415

    return {
        Hitch.MOVING: "the weight does not come to rest: hands off, no draught, nothing touching",
        Hitch.OTHER_WEIGHT: "not the weight asked for? swap it; if it is, the scale is far off",
        Hitch.NOT_EMPTY: "something is left on the pan? take it off; if not, wait",
        Hitch.NOT_ZERO: "not at zero: empty the pan and press the scale's zero key",
    }[hitch]
