"""``scaled records``: list, export and verify what the stations recorded."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from scaled.core.errors import ConfigError

if TYPE_CHECKING:
    import argparse
    from collections.abc import Iterable
    from datetime import datetime
    from pathlib import Path

    from scaled.records.query import Judged, Selection, StoredSession

HEADINGS: Final = (
    *("SESSION", "STARTED, UTC", "BADGE", "PROFILE"),
    *("BUILDS", "PASS", "OVER", "UNDER", "UNSURE"),
)

HASH_DIGITS: Final = 64
"""Length of a SHA-256 in hexadecimal (FIPS 180-4)."""


def add(commands: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    """Declare the command's options."""
    parser = commands.add_parser(
        "records",
        help="list, export and verify what was recorded",
        description="List, export and verify what the stations recorded. Works while a station "
        "is writing, and never changes the journal.",
        epilog="Example: scaled records export --format csv --since 2026-11-01 --out november.csv",
    )
    actions = parser.add_subparsers(required=True, metavar="ACTION")
    _add_list(actions)
    _add_export(actions)
    _add_verify(actions)


def _add_list(actions: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = actions.add_parser(
        "list",
        help="one line a session",
        description="One line a session, oldest first: who, when, which profile, how many "
        "finished builds, and how many portions passed, were over, under or unsure.",
        epilog="Example: scaled records list --badge C-014 --since 2026-11-01 "
        "--until 2026-11-07T15:00:00Z",
    )
    _add_journal(parser)
    _add_selection(parser)
    parser.set_defaults(run=list_sessions)


def _add_export(actions: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = actions.add_parser(
        "export",
        help="records as text for other tools",
        description="Write records as text: csv (one row a portion and one a finished build), "
        "jsonl (every record), checks (of scales) or recording (raw readings, for replay).",
        epilog="Example: scaled records export --profile winter-barley-bowl --out bowls.csv",
    )
    _add_journal(parser)
    _add_selection(parser)
    parser.add_argument(
        "--format", default="csv", metavar="NAME", help="csv, jsonl, checks or recording"
    )
    parser.add_argument("--session", metavar="ID", help="only this session")
    parser.add_argument("--build", metavar="N", help="only this build of each session")
    parser.add_argument("--out", metavar="FILE", help="default: standard output")
    parser.set_defaults(run=export)


def _add_verify(actions: argparse._SubParsersAction[argparse.ArgumentParser]) -> None:
    parser = actions.add_parser(
        "verify",
        help="find edits, gaps and swaps",
        description="Walk the whole chain of records and find every edit, gap and swap, then "
        "print its head: how many records, and the hash of the last. A head noted earlier shows "
        "whether later records were cut off or all were written anew.",
        epilog=f"Example: scaled records verify --head {'6d2b' * 16}",
    )
    _add_journal(parser)
    parser.add_argument("--head", metavar="HASH", help="a head hash noted earlier")
    parser.set_defaults(run=verify)


def _add_journal(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--journal", metavar="PATH", help="default: journal.db of this user")


def _add_selection(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--badge", metavar="CODE", help="only this cook, such as C-014")
    parser.add_argument("--profile", metavar="ID", help="only this build profile")
    parser.add_argument("--since", metavar="WHEN", help="begun on this UTC date or later")
    parser.add_argument("--until", metavar="WHEN", help="begun on this UTC date or earlier")


def list_sessions(args: argparse.Namespace) -> int:
    """Print the table of sessions.

    Raises:
        ConfigError: An option's value is wrong.
        JournalError: The journal cannot be read.
    """
    from scaled.records.query import sessions, verdicts  # noqa: PLC0415 -- slow import
    from scaled.records.reader import Records  # noqa: PLC0415

    wanted = _selection(args)
    with Records.open(_journal(args)) as journal:
        rows = [
            _cells(session, verdicts(journal, session.info.session))
            for session in sessions(journal, wanted)
        ]
    if not rows:
        print("no session fits")
        return 0
    _print_table([HEADINGS, *rows])
    return 0


def export(args: argparse.Namespace) -> int:
    """Write an export to a file or to standard output.

    Raises:
        ConfigError: An option's value is wrong, or the file cannot be written.
        JournalError: The journal cannot be read.
    """
    import sys  # noqa: PLC0415
    from pathlib import Path  # noqa: PLC0415

    from scaled.records.database import is_part  # noqa: PLC0415
    from scaled.records.export import export_lines, write_lines  # noqa: PLC0415 -- slow import
    from scaled.records.reader import Records  # noqa: PLC0415

    wanted, build = _selection(args), _build(args.build)
    source = _journal(args)
    with Records.open(source) as journal:
        lines = export_lines(journal, args.format, wanted, build)
        if args.out is None:
            # Bytes: neither the line ends nor the encoding are the terminal's to choose.
            sys.stdout.buffer.writelines(line.encode() for line in lines)
            sys.stdout.buffer.flush()
        elif is_part(source, Path(args.out)):
            raise ConfigError("--out", "", "is the journal itself; name another file")
        else:
            write_lines(Path(args.out), lines)
    return 0


def verify(args: argparse.Namespace) -> int:
    """Verify the chain; 1 when it does not hold.

    Raises:
        JournalError: The journal cannot be read.
        ConfigError: The noted head is no hash.
    """
    from scaled.records.reader import Records  # noqa: PLC0415 -- slow import

    noted = _noted(args.head)
    path = _journal(args)
    with Records.open(path) as journal:
        finding = journal.verify(noted)
    for problem in finding.problems:
        print(problem)
    found = f"{len(finding.problems)} found wrong" if finding.problems else "intact"
    print(f"{path}: {found}, {finding.count} records")
    print(f"head: {finding.count} {finding.head}")
    return 1 if finding.problems else 0


def _noted(text: str | None) -> str | None:
    """A head hash noted earlier; a slip in copying it must not look like tampering."""
    if text is None:
        return None
    noted = text.strip().lower()
    if len(noted) != HASH_DIGITS or set(noted) - set("0123456789abcdef"):
        reason = "not a head hash; write the 64 digits that verify or an export printed"
        raise ConfigError("--head", "", reason)
    return noted


def _journal(args: argparse.Namespace) -> Path:
    from pathlib import Path  # noqa: PLC0415

    from scaled.config import state_dir  # noqa: PLC0415 -- slow import

    return Path(args.journal) if args.journal else state_dir() / "journal.db"


def _selection(args: argparse.Namespace) -> Selection:
    from scaled.records.query import Selection  # noqa: PLC0415 -- slow import

    return Selection(
        session=getattr(args, "session", None),
        badge=args.badge,
        profile=args.profile,
        since=_instant("--since", args.since, days=0),
        until=_instant("--until", args.until, days=1),
    )


def _instant(option: str, text: str | None, days: int) -> datetime | None:
    """The instant meant by an option; a mere date is moved on by so many days."""
    from datetime import UTC, date, datetime, time, timedelta  # noqa: PLC0415

    from scaled.records.session import parse_instant  # noqa: PLC0415

    if text is None:
        return None
    try:
        if len(text) > len("2026-11-01"):
            return parse_instant(text)
        day = date.fromisoformat(text) + timedelta(days=days)
        return datetime.combine(day, time(), UTC)
    except (ValueError, OverflowError) as err:
        reason = f'"{text}" is no date; write 2026-11-01 or 2026-11-01T14:30:00Z'
        raise ConfigError(option, "", reason) from err


def _build(text: str | None) -> int | None:
    if text is None:
        return None
    if text.isascii() and text.isdigit() and len(text) < 10 and int(text):
        return int(text)
    raise ConfigError("--build", "", f'"{text}" is not a count; write 1 for the first build')


def _cells(session: StoredSession, judged: Iterable[Judged]) -> tuple[str, ...]:
    from scaled.core.events import Finished, Portion, Verdict  # noqa: PLC0415

    valid = [one.event for one in judged if not one.superseded]
    builds = sum(isinstance(event, Finished) for event in valid)
    said = [event.verdict for event in valid if isinstance(event, Portion)]
    info = session.info
    return (
        info.session,
        f"{info.started_at:%Y-%m-%d %H:%M}",
        info.badge or "-",
        info.profile_id,
        str(builds),
        *(str(said.count(verdict)) for verdict in Verdict),
    )


def _print_table(rows: list[tuple[str, ...]]) -> None:
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    for row in rows:
        words = (cell.ljust(width) for cell, width in zip(row[:4], widths[:4], strict=True))
        counts = (cell.rjust(width) for cell, width in zip(row[4:], widths[4:], strict=True))
        print("  ".join((*words, *counts)))
