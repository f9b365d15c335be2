"""The journal as a spreadsheet: CSV by RFC 4180, in UTF-8.

A header, one row a portion, one row a finished build in the order recorded, and a last row that
carries the journal's head: without it the file is not whole. Columns keep their names, order and
meaning for good; new ones come last. DEVELOPERS.md, "The log", explains each.

Text that a spreadsheet would take for a formula is led by a single quote; numbers are left alone.
"""

from __future__ import annotations

import csv
import io
from typing import TYPE_CHECKING, Final

from scaled.core.events import Finished, Portion
from scaled.core.profile import BuildProfile, Step, parse_profile
from scaled.records.query import Judged, StoredSession, containers, verdicts
from scaled.records.session import instant_text

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from scaled.records.chain import Record
    from scaled.records.reader import Records

COLUMNS: Final = (
    *("session", "station", "badge", "profile", "revision", "started_at", "build", "event"),
    *("step", "ingredient", "target_g", "under_g", "over_g", "net_g", "u_g", "verdict"),
    *(
        "confidence",
        "attribution",
        "joint_with",
        "skipped",
        "superseded",
        "t",
        "at",
        "seq",
        "hash",
        "container",
        "u_scale_g",
        "doubt",
        "scale_check",
    ),
)

HEAD: Final = "journal_head"
"""Event name of an export's last line."""

_FORMULA_STARTS: Final = ("=", "+", "-", "@", "\t", "\r", "\n", "\0")
"""First characters to be led by a single quote (OWASP Application Security Verification
Standard 5.0, 1.2.10; OWASP community page on CSV injection for the line ends)."""

Cell = str | float | bool | None
Row = dict[str, Cell]


def sheet_lines(
    journal: Records, chosen: Iterable[StoredSession], build: int | None
) -> Iterator[str]:
    """The sheet of some sessions, or of one build of each; each line with its line end.

    Raises:
        JournalError: The journal is damaged or was changed.
    """
    yield csv_line(COLUMNS)
    for session in chosen:
        name = session.info.session
        profile = parse_profile(session.info.profile_text, f"session {name}")
        same = _session_cells(session)
        stood_in = containers(journal, name)
        for judged in verdicts(journal, name):
            if build in {None, judged.record.build}:
                its = same | {"container": stood_in.get(judged.record.build)}
                its |= _record_cells(judged.record) | _judged_cells(judged, profile)
                yield csv_row(its, COLUMNS)
    yield csv_row({"event": HEAD, "seq": journal.count, "hash": journal.head}, COLUMNS)


def _session_cells(session: StoredSession) -> Row:
    info = session.info
    return {
        "session": info.session,
        "station": info.station,
        "badge": info.badge,
        "profile": info.profile_id,
        "revision": info.profile_revision,
        "started_at": instant_text(info.started_at),
        "scale_check": info.scale_check,
    }


def _record_cells(record: Record) -> Row:
    return {
        "build": record.build,
        "event": record.kind,
        "t": record.t,
        "at": record.recorded_at,
        "seq": record.seq,
        "hash": record.hash,
    }


def _judged_cells(judged: Judged, profile: BuildProfile) -> Row:
    match judged.event:
        case Portion() as portion:
            return _portion_cells(portion, profile) | {"superseded": judged.superseded}
        case Finished() as finished:
            return _finished_cells(finished, profile)
        case other:
            raise TypeError(f"{other.event} is no verdict")


def _portion_cells(portion: Portion, profile: BuildProfile) -> Row:
    steps = (_step_cells(step) for step in profile.steps if step.id == portion.step)
    return (
        _measured_cells(portion)
        | next(steps, {})
        | {
            "step": portion.step,
            "attribution": portion.attribution.value,
            "joint_with": " ".join(portion.joint_with),
            "skipped": portion.skipped,
        }
    )


def _step_cells(step: Step) -> Row:
    return {
        "ingredient": step.ingredient,
        "target_g": round(step.target_g, 3),
        "under_g": round(step.under_g, 3),
        "over_g": round(step.over_g, 3),
    }


def _finished_cells(finished: Finished, profile: BuildProfile) -> Row:
    return _measured_cells(finished) | {
        "target_g": round(profile.finished_net_g, 3),
        "under_g": round(profile.finished_under_g, 3),
        "over_g": round(profile.finished_over_g, 3),
    }


def _measured_cells(event: Portion | Finished) -> Row:
    return {
        "net_g": event.net_g,
        "u_g": event.u_g,
        "verdict": event.verdict.value,
        "confidence": event.confidence,
        "u_scale_g": event.u_scale_g,
        "doubt": event.doubt and event.doubt.value,
    }


def csv_row(cells: Row, columns: Iterable[str]) -> str:
    """One row of a sheet with its line end; empty where there is no cell for a column."""
    return csv_line(_spelled(cells.get(column)) for column in columns)


def _spelled(cell: Cell) -> Cell:
    if isinstance(cell, bool):
        return "true" if cell else "false"
    if isinstance(cell, str) and cell.startswith(_FORMULA_STARTS):
        return "'" + cell
    return cell


def csv_line(cells: Iterable[Cell]) -> str:
    """Cells as one line of CSV, with its line end."""
    line = io.StringIO()
    csv.writer(line, lineterminator="\r\n").writerow(cells)
    return line.getvalue()
