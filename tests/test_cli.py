"""The command line as a whole: what it refuses, what it explains, what it costs to ask."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from scaled.cli import COMMANDS, main
from scaled.core.wording import choices
from simulators.ble_port import BLE_WIRES

ROOT = Path(__file__).parents[1]
FORMATS = choices(BLE_WIRES)
SLOW = ("pydantic", "textual", "fastapi", "pint")
ASK_FOR_HELP = f"""
import sys
from scaled.cli import main
try:
    main(["--help"])
finally:
    print(sorted(set({SLOW}) & set(sys.modules)), file=sys.stderr)
"""


def in_process(*words: str, **environment: str) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, *words],
        cwd=ROOT, env={**os.environ, **environment}, capture_output=True, timeout=200, check=False,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("words", "line"),
    [
        ("", "the following arguments are required: COMMAND; see scaled --help"),
        ("--bogus serve", '"--bogus" is not known here; see scaled --help'),
        ("serve --bogus", 'serve: "--bogus" is not known here; see scaled serve --help'),
        (
            "profile show one two",
            'profile show: "two" is not known here; see scaled profile show --help',
        ),
        (
            "replay",
            "replay: the following arguments are required: RECORDING, --profile; "
            "see scaled replay --help",
        ),
        ("bench --station", "bench: --station: expected one argument; see scaled bench --help"),
        (
            "demo --builds x",
            'demo: --builds: "x" must be a whole number, 1 or more; see scaled demo --help',
        ),
        (
            "demo --builds 0",
            'demo: --builds: "0" must be a whole number, 1 or more; see scaled demo --help',
        ),
        (
            "demo --seed=-1",
            'demo: --seed: "-1" must be a whole number, 0 or more; see scaled demo --help',
        ),
        *(
            (
                f"demo --speed {speed}",
                f'demo: --speed: "{speed}" must be a number, more than 0 and at most 20; '
                "see scaled demo --help",
            )
            for speed in ("0", "20.5", "nan", "fast")
        ),
        (
            "sim --rate 7",
            'sim: --rate: "7" is not known; write 5, 10 or 20; see scaled sim --help',
        ),
        (
            "sim --seed " + "9" * 19,
            f'sim: --seed: "{"9" * 19}" must be a whole number, 0 or more; see scaled sim --help',
        ),
        (
            "sim --habits odd",
            'sim: --habits: "odd" is not known; write clean, messy or frantic;'
            " see scaled sim --help",
        ),
        (
            "sim --format x",
            f'sim: --format: "x" is not known; write {FORMATS}; see scaled sim --help',
        ),
    ],
)
def test_a_wrong_use_is_one_line(
    words: str, line: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(words.split()) == 2
    out, err = capsys.readouterr()
    assert (out, err) == ("", f"scaled: {line}\n")


def test_a_command_that_is_not_there_is_one_line_that_names_all(
    capsys: pytest.CaptureFixture[str],
) -> None:
    assert main(["nosuch"]) == 2
    err = capsys.readouterr().err
    assert err.startswith("scaled: COMMAND: invalid choice: 'nosuch'")
    assert all(command in err for command in COMMANDS)
    assert err.endswith("; see scaled --help\n")
    assert err.count("\n") == 1


def test_what_was_typed_cannot_break_the_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["serve", "--a\n\x1b[2J"]) == 2
    err = capsys.readouterr().err
    assert err == 'scaled: serve: "--a\\n\\x1b[2J" is not known here; see scaled serve --help\n'


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_explains_itself(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as caught:
        main([command, "--help"])
    assert caught.value.code == 0
    assert f"Example: scaled {command}" in " ".join(capsys.readouterr().out.split())


def test_help_lists_all_commands() -> None:
    done = in_process("-m", "scaled", "--help")
    assert (done.returncode, done.stderr) == (0, b"")
    assert all(f"    {command} " in done.stdout.decode() for command in COMMANDS)


def test_help_imports_nothing_slow() -> None:
    done = in_process("-c", ASK_FOR_HELP)
    assert (done.returncode, done.stderr) == (0, b"[]\n")


def test_a_terminal_that_lacks_a_letter_shows_the_rest(tmp_path: Path) -> None:
    profile = (ROOT / "profiles" / "winter-barley-bowl.toml").read_text(encoding="utf-8")
    mine = tmp_path / "mine.toml"
    mine.write_text(
        profile.replace('title = "Winter barley bowl"', 'title = "Crème bowl"'), encoding="utf-8"
    )
    done = in_process("-m", "scaled", "profile", "show", str(mine), PYTHONIOENCODING="ascii")
    assert (done.returncode, done.stderr) == (0, b"")
    assert b"Cr?me bowl" in done.stdout
    done = in_process("-m", "scaled", "sim", "--format", "crème", PYTHONIOENCODING="ascii:strict")
    assert (done.returncode, done.stderr.splitlines()[0][:38]) == (
        2,
        b'scaled: sim: --format: "cr?me" is not ',
    )
