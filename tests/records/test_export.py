from __future__ import annotations

import json
import os
import subprocess
import tracemalloc
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import pytest

from scaled.core.accuracy import ByClass
from scaled.core.errors import ConfigError, JournalError
from scaled.core.events import BuildStarted, Portion
from scaled.core.reading import Reading, Unit
from scaled.recording import read_recording
from scaled.records.export import export_lines, write_lines
from scaled.records.habit import read_habit
from scaled.records.journal import Journal, SessionInfo
from scaled.records.query import Selection
from scaled.records.reader import Records
from tests.records.conftest import Fill

StartDaemon = Callable[[Path, str], subprocess.Popen[str]]

EVERYTHING = Selection()


@pytest.fixture
def stored(filled: Path) -> Iterator[Records]:
    with Records.open(filled) as records:
        yield records


class TestJsonLines:
    def test_hold_every_record_in_order_and_the_head(self, stored: Records) -> None:
        lines = [json.loads(line) for line in export_lines(stored, "jsonl", EVERYTHING)]

        assert [line["seq"] for line in lines] == [*range(1, 19), 18]
        assert [line["event"] for line in lines[:3]] == [
            "session_started",
            "readings",
            "build_started",
        ]
        assert [line["event"] for line in lines[-2:]] == ["session_ended", "journal_head"]
        assert lines[-1]["hash"] == lines[-2]["hash"] == stored.head

    def test_start_tells_all_of_the_session(self, stored: Records, info: SessionInfo) -> None:
        start = json.loads(next(export_lines(stored, "jsonl", EVERYTHING)))

        assert start["session"] == info.session
        assert start["started_at"] == start["recorded_at"] == "2026-11-04T10:15:00.000Z"
        assert start["profile_text"] == info.profile_text
        assert (start["badge"], start["device"], start["division_g"]) == ("C-014", "/dev/scale", 1)

    def test_can_be_checked_line_by_line_without_this_program(self, stored: Records) -> None:
        before = "0" * 64
        for text in list(export_lines(stored, "jsonl", EVERYTHING))[:-1]:
            line = json.loads(text)
            said, previous = line.pop("hash"), line.pop("previous")
            place = {name: line.pop(name) for name in ("session", "seq", "recorded_at")}
            body = json.dumps(line, ensure_ascii=False, separators=(",", ":"))
            fields = (previous, place["seq"], place["session"], line["build"], line["t"])
            covered = json.dumps(
                (*fields, place["recorded_at"], line["event"], body),
                ensure_ascii=False,
                separators=(",", ":"),
            )
            assert previous == before
            assert sha256(covered.encode()).hexdigest() == said
            before = said

    def test_of_one_build_leave_out_the_others(self, stored: Records) -> None:
        lines = [json.loads(line) for line in export_lines(stored, "jsonl", EVERYTHING, 2)]

        assert {line.get("build") for line in lines} == {0, 2, None}
        assert [line["event"] for line in lines if line.get("build") == 2][-1] == "finished"


class TestRecording:
    def test_reads_back_as_the_readings_that_were_stored(
        self,
        stored: Records,
        tmp_path: Path,
        info: SessionInfo,
        readings_between: Callable[[int, int], tuple[Reading, ...]],
    ) -> None:
        out = tmp_path / "session.csv"
        write_lines(out, export_lines(stored, "recording", EVERYTHING))

        recording = read_recording(out)
        assert recording.readings == readings_between(1, 600)
        assert recording.scale.division_g == 1.0
        assert recording.notes == {
            "session": info.session,
            "station": "line-1",
            "badge": "C-014",
            "profile": "winter-barley-bowl",
            "revision": "3",
            "division": "1.0 g",
            "journal_head": stored.head,
        }

    def test_says_what_stands_on_the_scales_plate(
        self, path: Path, journal: Journal, info: SessionInfo, portion: Portion, tmp_path: Path
    ) -> None:
        accuracy = ByClass("III", 1.0)
        journal.begin(replace(info, accuracy=accuracy))
        journal.append(info.session, [portion], [Reading(12.3, 1.0, Unit.G)], info.started_at)
        out = tmp_path / "session.csv"
        with Records.open(path) as stored:
            write_lines(out, export_lines(stored, "recording", EVERYTHING))

        recording = read_recording(out)
        assert recording.scale.accuracy == accuracy
        assert (recording.notes["class"], recording.notes["e"]) == ("III", "1.0 g")

    def test_says_what_was_known_of_the_cook(
        self, path: Path, journal: Journal, info: SessionInfo, fill: Fill, tmp_path: Path
    ) -> None:
        fill(journal, replace(info, habit={"barley": (0.05,)}))
        habits = []
        for build in (None, 1, 2):
            with Records.open(path) as stored:
                lines = list(export_lines(stored, "recording", EVERYTHING, build))
            write_lines(tmp_path / "session.csv", lines)
            habits.append(read_habit(read_recording(tmp_path / "session.csv")))
        assert habits == [
            {"barley": (0.05,)},
            {"barley": (0.05,)},
            {"barley": (0.05, -0.0078)},
        ]

    def test_of_one_build(
        self,
        stored: Records,
        tmp_path: Path,
        readings_between: Callable[[int, int], tuple[Reading, ...]],
    ) -> None:
        out = tmp_path / "build.csv"
        write_lines(out, export_lines(stored, "recording", EVERYTHING, 2))

        recording = read_recording(out)
        assert recording.readings == readings_between(301, 600)
        assert recording.notes["build"] == "2"

    def test_says_nothing_of_what_is_not_known(
        self, path: Path, journal: Journal, info: SessionInfo
    ) -> None:
        journal.begin(replace(info, badge=None, division_g=None))
        journal.append(info.session, [], [Reading(0.0, 1.0)], info.started_at)

        with Records.open(path) as stored:
            text = "".join(export_lines(stored, "recording", EVERYTHING))
        assert "badge" not in text
        assert "# division: learnt\n" in text


class TestRefusing:
    def test_format_that_does_not_exist(self, stored: Records) -> None:
        with pytest.raises(ConfigError) as caught:
            export_lines(stored, "xlsx", EVERYTHING)
        assert str(caught.value) == "xlsx: no such format; use csv, jsonl, checks or recording"

    @pytest.mark.parametrize("form", ["csv", "jsonl", "recording"])
    def test_session_that_does_not_exist(self, stored: Records, form: str) -> None:
        with pytest.raises(ConfigError) as caught:
            export_lines(stored, form, Selection(session="nobody"))
        assert str(caught.value) == (
            "nobody: no such session; see which there are with: scaled records list"
        )

    def test_recording_of_several_sessions(
        self, path: Path, journal: Journal, info: SessionInfo
    ) -> None:
        journal.begin(info)
        journal.begin(replace(info, session="second"))

        with Records.open(path) as stored, pytest.raises(ConfigError) as caught:
            export_lines(stored, "recording", EVERYTHING)
        assert str(caught.value) == (
            "a recording: holds one session; choose one with --session, listed by: scaled records"
            " list"
        )

    def test_recording_of_a_build_without_readings(
        self, path: Path, journal: Journal, info: SessionInfo
    ) -> None:
        journal.begin(info)
        started = BuildStarted(t=1.0, build=1, tare_g=18.0, u_g=0.3)
        journal.append(info.session, [started], [], info.started_at)

        with Records.open(path) as stored, pytest.raises(ConfigError) as caught:
            export_lines(stored, "recording", EVERYTHING, 1)
        assert str(caught.value) == f"{info.session}: build 1: no readings were recorded"


class TestWriting:
    def test_replaces_the_file_as_a_whole(self, stored: Records, tmp_path: Path) -> None:
        out = tmp_path / "out.csv"
        out.write_text("last month's")
        write_lines(out, export_lines(stored, "csv", EVERYTHING))

        assert out.read_bytes().startswith(b"session,station,")
        assert out.read_bytes().endswith(stored.head.encode() + b",,,,\r\n")
        assert sorted(file.name for file in tmp_path.iterdir()) == ["out.csv", "state"]

    def test_follows_a_link(self, tmp_path: Path) -> None:
        (tmp_path / "link").symlink_to(tmp_path / "real")
        write_lines(tmp_path / "link", ["text\n"])

        assert (tmp_path / "real").read_text() == "text\n"
        assert (tmp_path / "link").is_symlink()

    def test_failed_export_leaves_what_was_there(
        self, filled: Path, tmp_path: Path, tamper: Callable[..., None]
    ) -> None:
        tamper(filled, "UPDATE record SET t = 0 WHERE seq = 17")
        out = tmp_path / "out.csv"
        out.write_text("last month's")

        with Records.open(filled) as stored, pytest.raises(JournalError, match="record 17"):
            write_lines(out, export_lines(stored, "csv", EVERYTHING))
        assert out.read_text() == "last month's"
        assert sorted(file.name for file in tmp_path.iterdir()) == ["out.csv", "state"]

    def test_disk_that_takes_no_more_leaves_what_was_there(
        self, path: Path, tmp_path: Path, start_daemon: StartDaemon
    ) -> None:
        out = tmp_path / "out.csv"
        out.write_text("last month's")
        script = (
            "from scaled.core.errors import ConfigError\n"
            "from scaled.records.export import write_lines\n"
            "resource.setrlimit(resource.RLIMIT_FSIZE, (4096, 4096))\n"
            "try:\n"
            "    write_lines(path, ('x' * 100 for _ in range(1000)))\n"
            "except ConfigError as err:\n"
            "    print(err)\n"
        )

        assert start_daemon(out, script).communicate(timeout=60)[0] == (
            f"{out}: cannot be written (File too large); free some space or name another file\n"
        )
        assert out.read_text() == "last month's"
        assert list(tmp_path.iterdir()) == [out]

    @pytest.mark.parametrize("place", ["absent/out.csv", "file/out.csv"])
    def test_place_that_cannot_be(self, tmp_path: Path, place: str) -> None:
        (tmp_path / "file").touch()

        with pytest.raises(ConfigError, match="cannot be written"):
            write_lines(tmp_path / place, ["text\n"])

    def test_only_a_file_is_replaced(self, tmp_path: Path) -> None:
        pipe = tmp_path / "pipe"
        os.mkfifo(pipe)

        for place in (pipe, tmp_path):
            with pytest.raises(ConfigError) as caught:
                write_lines(place, ["text\n"])
            assert str(caught.value) == f"{place}: not a file; name one"


@pytest.mark.parametrize("form", ["csv", "jsonl"])
def test_memory_does_not_grow_with_the_journal(
    path: Path, info: SessionInfo, portion: Portion, form: str
) -> None:
    with closing(Journal.open(path)) as journal:
        for n in range(40):
            one = replace(info, session=f"{n:03}", profile_text=info.profile_text + "#" * 20_000)
            journal.begin(one)
            portions = [replace(portion, t=float(t)) for t in range(200)]
            journal.append(one.session, portions, [], info.started_at)

    peaks: list[int] = []
    sizes: list[int] = []
    with Records.open(path) as stored:
        for wanted in (Selection(session="000"), EVERYTHING):
            tracemalloc.start()
            sizes.append(sum(len(line) for line in export_lines(stored, form, wanted)))
            peaks.append(tracemalloc.get_traced_memory()[1])
            tracemalloc.stop()
    assert sizes[1] > 2_000_000 + sizes[0]
    assert peaks[1] < peaks[0] + 500_000
