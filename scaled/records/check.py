"""Checks of scales as records: who checked which scale, by which table, and what came of it."""

from __future__ import annotations

import json
import math
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Final

from scaled.core.accuracy import ByVerification
from scaled.core.checkup import Spot, Trial
from scaled.core.errors import RecordingError
from scaled.core.verification import Finding, Verification, Weighing
from scaled.records.session import instant_text, parse_instant

if TYPE_CHECKING:
    from datetime import datetime

    from scaled.core.accuracy import AccuracyClass
    from scaled.recording import Recording
    from scaled.records.chain import Record

SCALE_CHECKED: Final = "scale_checked"
"""Kind of the record that holds a check."""
CHECKED: Final = "checked"
"""Key of a recording's note of what the scale's last check found."""
_NO_CHECK: Final = "not what a check found; export the recording anew, or remove the note"
_DIGITS: Final = 6
"""Weights are kept to 1 ug: a check's own arithmetic is not lost in rounding."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ScaleCheck:
    """One check of one scale.

    Attributes:
        check: Unique id that sorts by time, such as ``20261125T080312000Z-line-1-check``.
        station: Name of the station whose scale it is.
        badge: Code of whoever made it; None when nobody said.
        format: Wire format of the scale.
        device: What the scale was opened as.
        division_g: Its smallest displayed step, g.
        accuracy_class: Its class.
        e_g: Its verification scale interval, g.
        capacity_g: The most it weighs, g.
        weight_error_g: How far off each test weight may be, g; None when nobody said.
        checked_at: When it was done; in UTC.
        software: Version of this program.
        verification: What came of it.
    """

    check: str
    station: str
    badge: str | None
    format: str
    device: str
    division_g: float
    accuracy_class: AccuracyClass
    e_g: float
    capacity_g: float
    weight_error_g: float | None
    checked_at: datetime
    software: str
    verification: Verification


def check_fields(check: ScaleCheck) -> dict[str, Any]:
    """The check as plain JSON values; ``holds`` stands in it for readers of other tools."""
    said: dict[str, Any] = _rounded(asdict(check))
    del said["check"]  # the record says it
    verification = check.verification
    said["checked_at"] = instant_text(check.checked_at)
    for finding, itself in zip(
        said["verification"]["findings"], verification.findings, strict=True
    ):
        finding["holds"] = itself.holds
    return said | {"holds": verification.holds}


def read_check(record: Record) -> ScaleCheck:
    """The check that a record holds.

    Raises:
        ValueError: It is not JSON, or a value makes no sense.
        TypeError: Its keys are not those of a check.
        KeyError: One is missing.
    """
    said = json.loads(record.body)
    for key in ("event", "t", "build", "holds"):
        del said[key]
    said["checked_at"] = parse_instant(said["checked_at"])
    said["verification"] = _verification(said["verification"])
    return ScaleCheck(check=record.session, **said)


def accuracy_note(accuracy: ByVerification) -> str:
    """What portions inherit of a check, as a recording's note."""
    return json.dumps(asdict(accuracy), separators=(",", ":"))


def read_accuracy(recording: Recording) -> ByVerification | None:
    """What a recording's note says that portions inherit of a check; None without one.

    Raises:
        RecordingError: The note makes no sense.
    """
    line = recording.notes.get(CHECKED)
    if line is None:
        return None
    try:
        said = {key: float(value) for key, value in json.loads(line).items()}
        accuracy = ByVerification(**said)
    except (AttributeError, TypeError, ValueError) as err:
        raise RecordingError(recording.where, CHECKED, _NO_CHECK) from err
    if not accuracy.load_g > 0 or not all(map(math.isfinite, said.values())):
        raise RecordingError(recording.where, CHECKED, _NO_CHECK)
    return accuracy


def _verification(said: dict[str, Any]) -> Verification:
    weighings = [
        Weighing(**one | {"trial": Trial(one["trial"]), "spot": Spot(one["spot"])})
        for one in said["weighings"]
    ]
    findings = []
    for one in said["findings"]:
        del one["holds"]
        findings.append(Finding(**one | {"trial": Trial(one["trial"])}))
    accuracy = ByVerification(**said["accuracy"])
    return Verification(said["table"], tuple(weighings), tuple(findings), accuracy)


def _rounded(value: Any) -> Any:  # noqa: ANN401 -- any JSON value
    match value:
        case float():
            return round(value, _DIGITS) + 0.0  # never -0.0
        case dict():
            return {key: _rounded(inner) for key, inner in value.items()}
        case list() | tuple():
            return [_rounded(inner) for inner in value]
    return value
