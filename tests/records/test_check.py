from __future__ import annotations

import csv
import io
import json
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest

from scaled.core.accuracy import ByVerification
from scaled.core.errors import JournalError, RecordingError
from scaled.core.reading import Reading
from scaled.recording import parse_recording
from scaled.records.check import accuracy_note, read_accuracy
from scaled.records.export import export_lines
from scaled.records.journal import Journal
from scaled.records.query import Selection, checks, sessions
from scaled.records.reader import Records
from tests.records.checks import MORNING, scale_check

LATER = MORNING + timedelta(days=1)
SEEN = [Reading(1.0, 0.0), Reading(2.0, 500.0)]


@pytest.fixture
def journal(tmp_path: Path) -> Path:
    """One good and one bad check."""
    path = tmp_path / "journal.db"
    with closing(Journal.open(path)) as writer:
        writer.note_check(scale_check(), SEEN)
        writer.note_check(scale_check(1.003, "line-2", LATER), [])
    return path


def exported(journal: Path, form: str, wanted: Selection | None = None) -> str:
    with Records.open(journal) as records:
        return "".join(export_lines(records, form, wanted or Selection()))


def test_what_was_recorded_is_read_again(journal: Path) -> None:
    with Records.open(journal) as records:
        good, bad = (stored.check for stored in checks(records, Selection()))
    assert (good.station, good.verification.holds) == ("line-1", True)
    assert (bad.station, bad.verification.holds) == ("line-2", False)
    wanted = scale_check().verification
    assert good.verification.table == wanted.table
    assert [f.limit_g for f in good.verification.findings] == [f.limit_g for f in wanted.findings]
    for read, made in zip(good.verification.weighings, wanted.weighings, strict=True):
        assert (read.trial, read.spot, read.steady) == (made.trial, made.spot, made.steady)
        assert read.error_g == pytest.approx(made.error_g, abs=2e-6)


def test_it_is_in_the_chain_and_no_session(journal: Path) -> None:
    with Records.open(journal) as records:
        finding = records.verify()
        assert (finding.count, finding.problems) == (3, ())
        assert list(sessions(records, Selection())) == []


def test_a_check_is_selected_as_sessions_are(journal: Path) -> None:
    wanted = [
        (Selection(station="line-2"), 1),
        (Selection(badge="C-014"), 2),
        (Selection(until=LATER), 1),
        (Selection(since=LATER), 1),
        (Selection(profile="winter-barley-bowl"), 0),
    ]
    with Records.open(journal) as records:
        for selection, count in wanted:
            assert len(list(checks(records, selection))) == count


def test_the_spreadsheet(journal: Path) -> None:
    first, second, head = csv.DictReader(io.StringIO(exported(journal, "checks"), newline=""))
    assert first["check"] == "20261125T080300000Z-line-1-check"
    assert (first["holds"], second["holds"]) == ("true", "false")
    assert first["table"] == "OIML R 76-1:2006, Table 6, class III, in service (3.5.2)"
    assert float(second["linearity_g"]) == pytest.approx(6.0, abs=0.2)
    assert second["linearity_limit_g"] == "2.0"
    assert (first["checked_at"], first["badge"]) == ("2026-11-25T08:03:00.000Z", "C-014")
    assert (head["check"], head["seq"]) == ("journal_head", "3")
    assert len(head["hash"]) == 64


def test_json_lines_carry_every_record(journal: Path) -> None:
    lines = [json.loads(line) for line in exported(journal, "jsonl").splitlines()]
    assert [line["event"] for line in lines] == [
        "readings",
        "scale_checked",
        "scale_checked",
        "journal_head",
    ]
    assert [line["holds"] for line in lines[1:3]] == [True, False]
    assert lines[1]["verification"]["findings"][0]["holds"] is True


def test_a_build_has_no_checks(journal: Path) -> None:
    with Records.open(journal) as records:
        lines = list(export_lines(records, "jsonl", Selection(), build=1))
    assert len(lines) == 1


def test_an_edit_is_found(journal: Path, tamper: object) -> None:
    tamper(  # type: ignore[operator]
        journal, "UPDATE record SET body = replace(body, 'false', 'true') WHERE seq = 3"
    )
    with Records.open(journal) as records:
        assert [problem.seq for problem in records.verify().problems] == [3]
        with pytest.raises(JournalError, match="record 3 was changed"):
            list(checks(records, Selection()))


RECORDING = "# checked: {}\nt,weight,unit,stable\n0.0,0.0,g,1\n"


def test_what_portions_inherit_goes_along_in_a_recording() -> None:
    accuracy = ByVerification(2000.0, 1.25, 0.7071067811865476, 1.7e-4)
    recording = parse_recording(RECORDING.format(accuracy_note(accuracy)), "x.csv")
    assert read_accuracy(recording) == accuracy
    assert read_accuracy(parse_recording("t,weight,unit,stable\n0,0,g,1\n", "x.csv")) is None


@pytest.mark.parametrize(
    "note",
    [
        "yes",
        "[1]",
        '{"load_g": 0, "error_g": 0, "error_u_g": 0}',
        '{"load_g": 1e999, "error_g": 0, "error_u_g": 0}',
        '{"load_g": "x", "error_g": 0, "error_u_g": 0}',
        '{"load_g": [], "error_g": 0, "error_u_g": 0}',
        '{"load_g": 1}',
    ],
)
def test_a_note_that_makes_no_sense_is_one_line(note: str) -> None:
    recording = parse_recording(RECORDING.format(note), "x.csv")
    with pytest.raises(RecordingError) as caught:
        read_accuracy(recording)
    assert str(caught.value) == (
        "x.csv: checked: not what a check found; export the recording anew, or remove the note"
    )
