"""The checks of scales as a spreadsheet: CSV by RFC 4180, in UTF-8.

A header, one row a check in order of time, and a last row that carries the journal's head.
Columns keep their names, order and meaning for good; new ones come last. DEVELOPERS.md, "The log",
explains each.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from scaled.core.checkup import Trial
from scaled.records.query import Selection, StoredCheck, checks
from scaled.records.session import instant_text
from scaled.records.sheet import HEAD, Row, csv_line, csv_row

if TYPE_CHECKING:
    from collections.abc import Iterator

    from scaled.records.reader import Records

_TRIALS: Final = {trial: trial.value.replace(" ", "_") for trial in Trial}

COLUMNS: Final = (
    *("check", "station", "badge", "checked_at", "device", "format"),
    *("class", "e_g", "division_g", "capacity_g", "table", "holds"),
    *(f"{name}{end}" for name in _TRIALS.values() for end in ("_g", "_limit_g")),
    *("load_g", "error_g", "error_u_g", "spot_share", "seq", "hash"),
)


def check_lines(journal: Records, wanted: Selection) -> Iterator[str]:
    """The sheet of the checks meant; each line with its line end.

    Raises:
        JournalError: The journal is damaged or was changed.
    """
    yield csv_line(COLUMNS)
    for stored in checks(journal, wanted):
        yield csv_row(_cells(stored), COLUMNS)
    yield csv_row({"check": HEAD, "seq": journal.count, "hash": journal.head}, COLUMNS)


def _cells(stored: StoredCheck) -> Row:
    check, verification = stored.check, stored.check.verification
    cells: Row = {
        "check": check.check,
        "station": check.station,
        "badge": check.badge,
        "checked_at": instant_text(check.checked_at),
        "device": check.device,
        "format": check.format,
        "class": check.accuracy_class,
        "e_g": check.e_g,
        "division_g": check.division_g,
        "capacity_g": check.capacity_g,
        "table": verification.table,
        "holds": verification.holds,
        "load_g": verification.accuracy.load_g,
        "error_g": verification.accuracy.error_g,
        "error_u_g": verification.accuracy.error_u_g,
        "spot_share": verification.accuracy.spot_share,
        "seq": stored.record.seq,
        "hash": stored.record.hash,
    }
    for finding in verification.findings:
        name = _TRIALS[finding.trial]
        cells |= {f"{name}_g": finding.worst_g, f"{name}_limit_g": finding.limit_g}
    return cells
