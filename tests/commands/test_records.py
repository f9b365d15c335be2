from __future__ import annotations

import csv
import io
import json
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from scaled import cli
from scaled.core.events import Attribution, Finished, Portion, Reopened, Verdict
from scaled.core.reading import Reading, Unit
from scaled.recording import parse_recording
from scaled.records.journal import Journal, SessionInfo

PROFILE = """
schema = 1
id = "winter-barley-bowl"
title = "Winter barley bowl"
revision = "3"
container = { name = "paper bowl", tare = "18 g" }
step = [{ id = "barley", ingredient = "pearl barley", target = "128 g" }]
"""

Run = Callable[..., tuple[int, str, str]]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], path: Path) -> Run:
    """Run ``scaled records`` on the journal; the exit code and what it printed."""
    # The other commands have their own tests.
    monkeypatch.setattr(cli, "COMMANDS", ("records",))

    def main(action: str, *options: str, journal: Path = path) -> tuple[int, str, str]:
        code = cli.main(["records", action, "--journal", str(journal), *options])
        return code, *capsys.readouterr()

    return main


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "state" / "journal.db"


@pytest.fixture
def journal(path: Path) -> Iterator[Journal]:
    """Two sessions: two builds of C-014 on 4 November, and one just begun on the 6th."""
    first = SessionInfo(
        session="20261104T101500Z-line-1",
        station="line-1",
        badge="C-014",
        profile_text=PROFILE,
        profile_id="winter-barley-bowl",
        profile_revision="3",
        format="ascii-stream",
        device="/dev/scale",
        division_g=1.0,
        started_at=datetime(2026, 11, 4, 10, 15, tzinfo=UTC),
        software="0.1.0",
    )
    second = replace(
        first,
        session="20261106T090000Z-line-1",
        badge=None,
        started_at=datetime(2026, 11, 6, 9, tzinfo=UTC),
    )
    portion = Portion(
        t=5.0,
        build=1,
        step="barley",
        net_g=120.0,
        u_g=0.4,
        verdict=Verdict.UNDER,
        confidence=0.9,
        attribution=Attribution.SURE,
    )
    finished = Finished(
        t=9.0,
        build=1,
        net_g=128.0,
        u_g=0.4,
        verdict=Verdict.PASS,
        confidence=0.9,
        duration_s=8.0,
    )
    events = [
        portion,
        Reopened(t=6.0, build=1, step="barley"),
        replace(portion, t=7.0, verdict=Verdict.PASS),
        finished,
        replace(portion, t=15.0, build=2, verdict=Verdict.UNSURE),
        replace(finished, t=19.0, build=2),
    ]
    with closing(Journal.open(path)) as journal:
        journal.begin(first)
        readings = [Reading(n / 10, 1.0, Unit.G) for n in range(200)]
        journal.append(first.session, events, readings, first.started_at + timedelta(minutes=1))
        journal.end(first.session, first.started_at + timedelta(hours=1))
        journal.begin(second)
        yield journal


@pytest.fixture
def closed(journal: Journal) -> None:
    """The journal is there and nobody writes to it."""
    journal.close()


@pytest.fixture
def edit(path: Path) -> Callable[[str], None]:
    """Run a statement on the journal behind its back."""

    def run(statement: str) -> None:
        with closing(sqlite3.connect(path, isolation_level=None)) as db:
            db.execute("DROP TRIGGER record_holds")
            db.execute("DROP TRIGGER record_stays")
            assert db.execute(statement).rowcount == 1

    return run


@pytest.mark.usefixtures("journal")
class TestList:
    def test_is_a_table_of_sessions_and_verdicts_that_count(self, run: Run) -> None:
        assert run("list") == (
            0,
            "SESSION                  STARTED, UTC      BADGE  PROFILE             BUILDS  PASS"
            "  OVER  UNDER  UNSURE\n"
            "20261104T101500Z-line-1  2026-11-04 10:15  C-014  winter-barley-bowl       2     1"
            "     0      0       1\n"
            "20261106T090000Z-line-1  2026-11-06 09:00  -      winter-barley-bowl       0     0"
            "     0      0       0\n",
            "",
        )

    @pytest.mark.parametrize(
        ("options", "days"),
        [
            ("--badge C-014", ["20261104"]),
            ("--profile winter-barley-bowl", ["20261104", "20261106"]),
            ("--since 2026-11-04", ["20261104", "20261106"]),
            ("--since 2026-11-05", ["20261106"]),
            ("--until 2026-11-04", ["20261104"]),
            ("--until 2026-11-06", ["20261104", "20261106"]),
            ("--since 2026-11-04T11:16:00+01:00", ["20261106"]),
            ("--until 2026-11-04T10:15:00Z --badge C-014", []),
        ],
    )
    def test_shows_the_sessions_selected(self, run: Run, options: str, days: list[str]) -> None:
        code, out, _ = run("list", *options.split())

        assert code == 0
        assert [line[:8] for line in out.splitlines()[1:]] == days

    def test_says_when_there_is_none(self, run: Run) -> None:
        assert run("list", "--badge", "C-099") == (0, "no session fits\n", "")


@pytest.mark.usefixtures("journal")
class TestExport:
    def test_is_csv_on_standard_output_unless_told_otherwise(self, run: Run) -> None:
        code, out, err = run("export")
        rows = list(csv.DictReader(io.StringIO(out, newline="")))

        assert (code, err) == (0, "")
        assert [row["verdict"] for row in rows] == ["under", "pass", "pass", "unsure", "pass", ""]
        assert out.count("\r\n") == 7

    def test_as_json_lines(self, run: Run) -> None:
        code, out, _ = run("export", "--format", "jsonl", "--badge", "C-014", "--build", "2")

        assert code == 0
        assert [json.loads(line)["event"] for line in out.splitlines()] == [
            *("session_started", "readings", "portion", "finished", "session_ended"),
            "journal_head",
        ]

    def test_as_recording(self, run: Run) -> None:
        session = "20261104T101500Z-line-1"
        code, out, _ = run("export", "--format", "recording", "--session", session)

        assert code == 0
        assert len(parse_recording(out, "out").readings) == 200

    def test_to_a_file(self, run: Run, tmp_path: Path) -> None:
        on_screen = run("export")[1]
        out = tmp_path / "out.csv"

        assert run("export", "--out", str(out)) == (0, "", "")
        assert out.read_bytes() == on_screen.encode()

    @pytest.mark.parametrize("ending", ["", "-wal", "-shm", ".lock"])
    def test_never_over_the_journal_itself(self, run: Run, path: Path, ending: str) -> None:
        assert run("export", "--out", f"{path}{ending}") == (
            2,
            "",
            "scaled: --out: is the journal itself; name another file\n",
        )
        assert run("verify")[0] == 0

    def test_stops_at_an_edited_record(
        self, run: Run, path: Path, tmp_path: Path, closed: None, edit: Callable[[str], None]
    ) -> None:
        edit("UPDATE record SET body = replace(body, '120.0', '128.0') WHERE seq = 7")
        out = tmp_path / "out.csv"

        code, _, err = run("export", "--out", str(out))
        assert code == 2
        assert err == (
            f"scaled: {path}: record 7 was changed after it was written; see what else was with:"
            " scaled records verify\n"
        )
        assert not out.exists()


@pytest.mark.usefixtures("journal")
class TestVerify:
    def test_intact(self, run: Run, path: Path) -> None:
        code, out, err = run("verify")
        line, head = out.splitlines()

        assert (code, err) == (0, "")
        assert line == f"{path}: intact, 10 records"
        assert head.startswith("head: 10 ")

    def test_head_noted_earlier(self, run: Run, journal: Journal) -> None:
        noted = run("verify")[1].split()[-1]
        journal.end("20261106T090000Z-line-1", datetime(2026, 11, 6, 10, tzinfo=UTC))

        assert run("verify", "--head", noted.upper())[0] == 0

    @pytest.mark.parametrize("slip", ["deadbeef", "z" * 64, ""])
    def test_a_slip_in_the_head_is_no_tampering(
        self, run: Run, journal: Journal, slip: str
    ) -> None:
        code, out, err = run("verify", "--head", slip)
        assert (code, out) == (2, "")
        line = "not a head hash; write the 64 digits that verify or an export printed"
        assert err == f"scaled: --head: {line}\n"

    def test_cut_off_since_the_head_was_noted(
        self, run: Run, path: Path, closed: None, edit: Callable[[str], None]
    ) -> None:
        noted = run("verify")[1].split()[-1]
        edit("DELETE FROM record WHERE seq = 10")

        assert run("verify")[0] == 0
        code, out, _ = run("verify", "--head", noted)
        assert code == 1
        assert out.splitlines()[:2] == [
            f"record 9: cut: no record up to here has the hash {noted}: later ones were cut off"
            " or rewritten",
            f"{path}: 1 found wrong, 9 records",
        ]

    @pytest.mark.parametrize(
        ("statement", "line"),
        [
            (
                "UPDATE record SET body = replace(body, 'unsure', 'pass') WHERE seq = 7",
                "record 7: edited: this portion does not match its hash",
            ),
            (
                "DELETE FROM record WHERE seq = 5",
                "record 6: gap: nothing between record 4 and this one",
            ),
            (
                "UPDATE record SET chunk = zeroblob(9) WHERE seq = 2",
                "record 2: damaged: its raw readings do not match their hash",
            ),
            (
                "UPDATE record SET previous = hash WHERE seq = 6",
                "record 6: reordered: does not follow record 5: moved, or one of the two was"
                " changed",
            ),
        ],
    )
    def test_has_a_line_for_what_is_wrong(
        self, run: Run, closed: None, edit: Callable[[str], None], statement: str, line: str
    ) -> None:
        edit(statement)

        code, out, _ = run("verify")
        assert code == 1
        assert out.splitlines()[0] == line


class TestBadInput:
    @pytest.mark.parametrize(
        ("options", "line"),
        [
            (
                "list --since yesterday",
                '--since: "yesterday" is no date; write 2026-11-01 or 2026-11-01T14:30:00Z',
            ),
            (
                "export --until 9999-12-31",
                '--until: "9999-12-31" is no date; write 2026-11-01 or 2026-11-01T14:30:00Z',
            ),
            ("export --build 0", '--build: "0" is not a count; write 1 for the first build'),
            ("export --build two", '--build: "two" is not a count; write 1 for the first build'),
            ("export --format pdf", "pdf: no such format; use csv, jsonl, checks or recording"),
            (
                "export --session nobody",
                "nobody: no such session; see which there are with: scaled records list",
            ),
            (
                "export --format recording",
                "a recording: holds one session; choose one with --session, listed by: scaled"
                " records list",
            ),
            (
                "export --format recording --session 20261106T090000Z-line-1",
                "20261106T090000Z-line-1: no readings were recorded",
            ),
        ],
    )
    @pytest.mark.usefixtures("journal")
    def test_options(self, run: Run, options: str, line: str) -> None:
        assert run(*options.split()) == (2, "", f"scaled: {line}\n")

    @pytest.mark.parametrize("action", ["list", "export", "verify"])
    def test_no_journal(self, run: Run, path: Path, action: str) -> None:
        assert run(action) == (
            2,
            "",
            f"scaled: {path}: no journal here that can be read; start the station once, or name"
            " another with --journal\n",
        )
        assert not path.parent.exists()

    @pytest.mark.parametrize("action", ["list", "export", "verify"])
    def test_file_that_is_not_a_journal(self, run: Run, tmp_path: Path, action: str) -> None:
        other = tmp_path / "list.txt"
        other.write_text("shopping list\n" * 99)

        code, out, err = run(action, journal=other)
        assert (code, out) == (2, "")
        assert err == (
            f"scaled: {other}: not a journal of this program (file is not a database); move it"
            " aside, or name another journal\n"
        )

    @pytest.mark.parametrize("action", ["list", "verify"])
    @pytest.mark.usefixtures("closed")
    def test_damaged_journal(self, run: Run, path: Path, action: str) -> None:
        with path.open("r+b") as file:
            file.seek(4096)
            file.write(b"\xff" * 4096)

        code, out, err = run(action)
        assert (code, out) == (2, "")
        assert err == (
            f"scaled: {path}: damaged (database disk image is malformed); keep a copy, then move"
            " it aside or put a good copy in its place\n"
        )

    @pytest.mark.usefixtures("journal")
    def test_place_that_cannot_be_written(self, run: Run, tmp_path: Path) -> None:
        out = tmp_path / "absent" / "out.csv"

        assert run("export", "--out", str(out)) == (
            2,
            "",
            f"scaled: {out}: cannot be written (No such file or directory); free some space or"
            " name another file\n",
        )


def test_journal_is_this_users_unless_named(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    monkeypatch.setattr(cli, "COMMANDS", ("records",))
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path))

    assert cli.main(["records", "list"]) == 2
    assert f"{tmp_path / 'scaled' / 'journal.db'}: no journal here" in capsys.readouterr().err


@pytest.mark.parametrize("action", ["list", "export", "verify"])
def test_help_has_an_example(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], action: str
) -> None:
    monkeypatch.setattr(cli, "COMMANDS", ("records",))

    with pytest.raises(SystemExit, match="0"):
        cli.main(["records", action, "--help"])
    assert f"Example: scaled records {action}" in capsys.readouterr().out
