from __future__ import annotations

import asyncio
import resource
import signal
import socket
import sqlite3
from collections.abc import Callable
from contextlib import closing, suppress
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from websockets.asyncio.client import unix_connect

from scaled.cli import main
from scaled.config import journal_in
from scaled.records import database
from scaled.records.reader import Records
from tests.commands.daemon import (
    STATION,
    Daemon,
    ended,
    exported,
    portion_lentils,
    press_next,
    until,
)
from tests.station.rig import PROFILE

if TYPE_CHECKING:
    from asyncio.subprocess import Process

    from scaled.records.chain import Problem
    from tests.conftest import SerialLine


@pytest.fixture
def daemon(tmp_path: Path, serial_line: SerialLine) -> Daemon:
    """A daemon that is not started yet."""
    return Daemon(tmp_path, serial_line)


def kinds(daemon: Daemon) -> list[str]:
    with closing(sqlite3.connect(journal_in(daemon.state))) as db:
        return [kind for (kind,) in db.execute("SELECT kind FROM record ORDER BY seq")]


def problems(daemon: Daemon) -> tuple[Problem, ...]:
    with Records.open(journal_in(daemon.state)) as journal:
        return journal.verify().problems


async def test_one_line_says_what_runs(daemon: Daemon) -> None:
    async with daemon.running():
        assert daemon.ready_line == (
            f"scaled: reads {daemon.line.device} (ascii-stream);"
            f" listens on unix:{daemon.socket}; journal {daemon.state}/journal.db\n"
        )


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGINT])
async def test_a_signal_ends_it_in_order(daemon: Daemon, number: signal.Signals) -> None:
    async with daemon.running() as (process, http):
        await portion_lentils(daemon, http)
        bench = await unix_connect(str(daemon.socket), f"ws://station{STATION}/live")
        process.send_signal(number)
        async for _ in bench:
            pass
        assert (bench.close_code, bench.close_reason) == (1001, "the station stops")
        assert await ended(process) == (0, "")
    assert not daemon.socket.exists()
    # The build is kept open: nobody finished it, and the next start goes on with it.
    assert not {"finished", "session_ended"} & set(kinds(daemon))
    async with daemon.running() as (process, http):
        assert "goes on with session" in daemon.ready_line
        state = (await http.get(STATION)).json()
        assert state["live"]["ladder"][0]["verdict"] == "pass"


async def test_a_signal_with_nothing_on_the_scale_ends_the_session(daemon: Daemon) -> None:
    daemon.weight_g = 0.0
    async with daemon.running() as (process, http):
        await until(http, lambda live: live["settled"])
        process.send_signal(signal.SIGTERM)
        assert await ended(process) == (0, "")
    assert kinds(daemon)[-1] == "session_ended"


async def test_an_impatient_person_does_not_cut_the_end_short(daemon: Daemon) -> None:
    async def press_again(process: Process) -> None:
        with suppress(ProcessLookupError):  # it has ended
            while True:
                process.send_signal(signal.SIGINT)
                await asyncio.sleep(0.01)

    async with daemon.running() as (process, http), asyncio.TaskGroup() as tasks:
        await portion_lentils(daemon, http)
        bench = await unix_connect(str(daemon.socket), f"ws://station{STATION}/live")
        pressing = tasks.create_task(press_again(process))
        async for _ in bench:
            pass
        pressing.cancel()
        assert await ended(process) == (0, "")
    assert not {"finished", "session_ended"} & set(kinds(daemon))
    assert await asyncio.to_thread(problems, daemon) == ()


async def test_killed_right_after_a_portion_was_shown_nothing_of_it_is_lost(
    daemon: Daemon,
) -> None:
    async with daemon.running() as (process, http):
        shown = await portion_lentils(daemon, http)
        process.kill()
        await process.wait()
    async with daemon.running() as (process, http):
        stored = [r for r in await exported(http) if r["event"] == "portion"]
        assert [(r["step"], r["verdict"]) for r in stored] == [("lentils", shown["verdict"])]
        assert stored[0]["net_g"] == pytest.approx(shown["net_g"], abs=0.001)
        await until(http, lambda live: live["settled"] and live["step"] == "yogurt")
        state = (await http.get(STATION)).json()
        assert state["session"]["session"] == stored[0]["session"]
        assert state["live"]["ladder"][0] == shown
        daemon.weight_g = 170.0
        await until(http, lambda live: live["settled"] and live["total_net_g"] > 150)
        await press_next(http)
        await until(http, lambda live: live["step"] is None and live["ask"] == "lift")
        records = await exported(http)
    happened = [r["event"] for r in records if r["event"] not in {"readings", "settled"}]
    assert happened.count("session_started") == happened.count("signal_lost") == 1
    assert happened.count("build_started") == 1
    assert [r["step"] for r in records if r["event"] == "portion"] == ["lentils", "yogurt"]
    finished = next(r for r in records if r["event"] == "finished")
    assert finished["net_g"] == pytest.approx(160.0, abs=1.0)
    assert await asyncio.to_thread(problems, daemon) == ()


async def test_after_a_crash_the_first_line_says_what_goes_on(daemon: Daemon) -> None:
    """Another profile asked for at the start does not cut the build in two, nor silently."""
    async with daemon.running() as (process, http):
        await portion_lentils(daemon, http)
        session = (await http.get(STATION)).json()["session"]["session"]
        process.kill()
        await process.wait()
    daemon.profile.write_text(PROFILE.replace("lentil-cup", "another-cup"))
    async with daemon.running() as (_, http):
        going_on = f"journal.db; goes on with session {session} (lentil-cup)\n"
        assert daemon.ready_line.endswith(going_on)
        assert (await http.get(STATION)).json()["session"]["profile"] == "lentil-cup"


async def test_a_full_disk_stops_it_and_what_it_confirmed_is_kept(daemon: Daemon) -> None:
    async with daemon.running() as (process, http):
        log = journal_in(daemon.state).with_name("journal.db-wal")
        limit = log.stat().st_size + 60_000
        resource.prlimit(process.pid, resource.RLIMIT_FSIZE, (limit, limit))
        kept = 0
        while True:
            body = {"command": "note", "text": f"{kept:0199}"}
            answer = await http.post(f"{STATION}/commands", json=body)
            if answer.status_code != 200:
                break
            kept += 1
        assert kept > 0
        assert answer.status_code == 503
        line = f"{journal_in(daemon.state)}: the disk does not take or give the data"
        assert answer.json()["detail"].startswith(line)
        code, said = await ended(process)
    assert code == 2
    assert said.startswith(f"scaled: {line}")
    assert said.count("\n") == 1
    async with daemon.running() as (_, http):
        notes = [int(r["text"]) for r in await exported(http) if r["event"] == "noted"]
    assert notes == list(range(kept))
    assert await asyncio.to_thread(problems, daemon) == ()


async def test_a_second_daemon_does_not_disturb_the_first(daemon: Daemon, tmp_path: Path) -> None:
    second = Daemon(tmp_path, daemon.line)
    async with daemon.running() as (_, http):
        with pytest.raises(AssertionError, match="another daemon is writing to it; stop that one"):
            async with second.running():
                pass
        second.state = tmp_path / "other"
        with pytest.raises(
            AssertionError, match=r"another scaled daemon \(process .* listens here"
        ):
            async with second.running():
                pass
        second.socket = tmp_path / "other.sock"
        with pytest.raises(AssertionError, match="busy; close the other program that has it open"):
            async with second.running():
                pass
        await until(http, lambda live: live["settled"])


Change = Callable[[Daemon], list[str]]


def without_device(daemon: Daemon) -> list[str]:
    return daemon.options[2:]


def with_(*options: str) -> Change:
    return lambda daemon: [*daemon.options, *options]


def folder_is_a_file(daemon: Daemon) -> list[str]:
    daemon.state.write_text("")
    return daemon.options


def journal_is_a_letter(daemon: Daemon) -> list[str]:
    daemon.state.mkdir()
    journal_in(daemon.state).write_text("Dear cook, the salt is in the other tin. " * 50)
    return daemon.options


def device_is_a_file(daemon: Daemon) -> list[str]:
    daemon.profile.with_name("file").touch()
    return [*daemon.options, "--device", str(daemon.profile.with_name("file"))]


def folder_is_below_a_file(daemon: Daemon) -> list[str]:
    daemon.state.write_text("")
    return [*daemon.options, "--state", str(daemon.state / "deeper")]


def profile_is_broken(daemon: Daemon) -> list[str]:
    daemon.profile.write_text(PROFILE.replace('target = "40 g"', 'target = "40"'))
    return daemon.options


def config_is_wrong(daemon: Daemon) -> list[str]:
    path = daemon.profile.with_name("station.toml")
    path.write_text('[[station]]\ndevice = "/dev/x"\nformat = "ascii-stream"\nbaud = 0\n')
    return ["--config", str(path)]


@pytest.mark.parametrize(
    ("change", "line"),
    [
        (without_device, "--device: missing; give it, or a file with --config"),
        (with_("--device", "/dev/gone"), "/dev/gone: does not exist; check that the scale is"),
        (with_("--device", "/dev/null"), "/dev/null: not a serial line; name the scale's own"),
        (device_is_a_file, "/file: not a serial line; name the scale's own device"),
        (with_("--format", "morse"), "morse: no such scale format; installed: ascii-poll, "),
        (with_("--division", "1"), '--division: "1" has no unit; write a weight such as'),
        (with_("--capacity", "6"), '--capacity: "6" has no unit; write a weight such as'),
        (with_("--baud", "fast"), '--baud: "fast" is not a whole number; write baud = 9600'),
        (with_("--framing", "9N1"), '--framing: "9N1" is not known; did you mean'),
        (with_("--station", "Line 1"), '--station: "Line 1": use lower-case letters'),
        (with_("--profile", "nope"), "nope: no profile has this id; known: "),
        (profile_is_broken, '/lentil-cup.toml: step 2 (yogurt), target: "40" has no unit'),
        (with_("--listen", "0.0.0.0:80"), "--listen: only this machine may be listened to"),
        (with_("--listen", "unix:/" + "a" * 107), "--listen: a socket path may have 107 bytes"),
        (with_("--listen", "unix:/dev/null"), "unix:/dev/null: cannot listen here: a file that"),
        (folder_is_a_file, "/state/journal.db: not inside a folder; name another place"),
        (folder_is_below_a_file, "/deeper/journal.db: not inside a folder; name another place"),
        # No user, root neither, makes folders there.
        (
            with_("--state", "/sys/kernel/kitchen"),
            "/journal.db: its folder is not writable; change",
        ),
        (journal_is_a_letter, "/state/journal.db: not a journal of this program"),
        (config_is_wrong, "/station.toml: station 1, baud: 0 is out of range; write a number of"),
        (with_("--config", "x.toml"), "--device: not together with --config; write it into the"),
        (lambda _: ["--config", "gone.toml"], "gone.toml: cannot be read: No such file"),
    ],
)
def test_wrong_input_is_one_line(
    daemon: Daemon, change: Change, line: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["serve", *change(daemon)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("scaled: ")
    assert line in err
    assert err.count("\n") == 1
    assert not daemon.socket.exists()


def test_a_port_that_a_foreign_program_has_is_one_line(
    daemon: Daemon, capsys: pytest.CaptureFixture[str]
) -> None:
    with socket.create_server(("127.0.0.1", 0)) as other:
        address = f"127.0.0.1:{other.getsockname()[1]}"
        assert main(["serve", *daemon.options, "--listen", address]) == 2
    assert capsys.readouterr().err == (
        f"scaled: {address}: another program listens here already; stop it, or choose another"
        " with --listen\n"
    )


def test_a_disk_that_is_full_at_the_start_is_one_line(
    daemon: Daemon, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """SQLite's own limit on the size of the file gives the very error of a full disk."""
    connect = database._connect

    def onto_a_full_disk(path: Path, how: str) -> sqlite3.Connection:
        db = connect(path, how)
        db.execute("PRAGMA max_page_count = 1")
        return db

    monkeypatch.setattr(database, "_connect", onto_a_full_disk)
    assert main(["serve", *daemon.options]) == 2
    assert capsys.readouterr().err == (
        f"scaled: {journal_in(daemon.state)}: the disk is full (database or disk is full); free"
        " some space, then start again: what was recorded is kept\n"
    )
    monkeypatch.undo()
    asyncio.run(serve_shortly(daemon))
    assert problems(daemon) == ()


def test_what_the_scale_cannot_judge_is_said_at_the_start(
    daemon: Daemon, capsys: pytest.CaptureFixture[str]
) -> None:
    options = [*daemon.options, "--division", "5g", "--device", "/dev/gone"]
    assert main(["serve", *options]) == 2
    warned, failed = capsys.readouterr().err.splitlines()
    assert warned.startswith(
        "scaled: warning: station, lentil-cup, step 2 (yogurt), under and over: a band of 8 g is"
        " 1.6 divisions of 5 g, too narrow to judge"
    )
    assert failed.startswith("scaled: /dev/gone: ")


def test_a_profile_too_fine_for_the_scale_is_refused_before_anything_is_opened(
    daemon: Daemon, capsys: pytest.CaptureFixture[str]
) -> None:
    options = [*daemon.options, "--division", "10g", "--class", "III", "--device", "/dev/gone"]
    assert main(["serve", *options]) == 2
    assert capsys.readouterr().err == (
        "scaled: lentil-cup: the scale can judge none of its steps; step 1 (lentils), under and"
        " over: a band of 24 g is 2.4 divisions of 10 g, too narrow to judge (two readings and"
        " the scale's own error leave a standard uncertainty of 7.1 g or more); use a division"
        " of 2 g, or widen it to 40 g\n"
    )


def test_a_check_that_is_asked_for_and_cannot_be_made_is_said_at_the_start(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    plate = 'division = "1 g"\nclass = "III"\ncapacity = "6 kg"\n'
    file = tmp_path / "kitchen.toml"
    for told, rest in ((True, ""), (False, plate)):
        file.write_text(
            f'state = "{tmp_path}/state"\n[[station]]\nname = "line-1"\ndevice = "/dev/gone"\n'
            f'format = "ascii-stream"\ncheck_of_the_day = "refuse"\n{rest}'
        )
        assert main(["serve", "--config", str(file)]) == 2
        warning = (
            "scaled: warning: line-1: no build can begin without a check of the day, and none be "
            "made: in the station's configuration, division: missing; write it as it stands on "
            "the scale's plate\n"
        )
        assert capsys.readouterr().err.startswith(warning) is told


def test_a_busy_line_is_one_line(daemon: Daemon, capsys: pytest.CaptureFixture[str]) -> None:
    daemon.line.take()
    assert main(["serve", *daemon.options]) == 2
    assert capsys.readouterr().err == (
        f"scaled: {daemon.line.device}: busy; close the other program that has it open\n"
    )


def test_a_wrong_device_leaves_an_empty_journal_and_nothing_in_the_way(daemon: Daemon) -> None:
    assert main(["serve", *daemon.options, "--device", "/dev/gone"]) == 2
    left = {file.name for file in daemon.state.iterdir()}
    assert left == {"journal.db", "journal.db.lock"}
    assert kinds(daemon) == []
    assert problems(daemon) == ()
    asyncio.run(serve_shortly(daemon))
    assert kinds(daemon)[:1] == ["session_started"]


def test_what_is_not_ours_is_left_as_it_was(daemon: Daemon) -> None:
    options = journal_is_a_letter(daemon)
    letter = journal_in(daemon.state).read_bytes()
    assert main(["serve", *options]) == 2
    assert journal_in(daemon.state).read_bytes() == letter


def test_a_damaged_journal_is_one_line(daemon: Daemon, capsys: pytest.CaptureFixture[str]) -> None:
    asyncio.run(serve_shortly(daemon))
    journal = journal_in(daemon.state)
    whole = journal.read_bytes()
    page = 4096  # SQLite's default; the first holds the schema
    journal.write_bytes(whole[:page] + b"\x55" * (len(whole) - page))
    assert main(["serve", *daemon.options]) == 2
    err = capsys.readouterr().err
    assert "journal.db: damaged" in err
    assert err.count("\n") == 1


async def serve_shortly(daemon: Daemon) -> None:
    async with daemon.running() as (process, http):
        await until(http, lambda live: bool(live["settled"]))
        process.terminate()
        assert await ended(process) == (0, "")
