"""The whole command on a real pseudo-terminal, as fast as it hears its scale."""

from __future__ import annotations

from contextlib import closing
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from scaled.cli import main
from scaled.commands import scale_verify
from scaled.config import journal_in
from scaled.records.check_card import WIDTH, check_card
from scaled.records.journal import Journal
from scaled.records.query import Selection, checks
from scaled.records.reader import Records
from tests.checker import Checker
from tests.core.checked import scale
from tests.records.checks import scale_check

if TYPE_CHECKING:
    from simulators.pan_make import PanMake
    from tests.conftest import SerialLine

PLATE = ["--format", "ascii-stream", "--division", "1g", "--class", "III", "--capacity", "6kg"]


def verify(
    tmp_path: Path, make: PanMake, monkeypatch: pytest.MonkeyPatch, *options: str
) -> tuple[int, Checker]:
    checker = Checker(make, tmp_path / "scale")
    shown = scale_verify.tell

    def tell(news: object) -> None:
        shown(news)  # type: ignore[arg-type]
        checker.tell(news)

    monkeypatch.setattr(scale_verify, "tell", tell)
    monkeypatch.setattr(scale_verify, "monotonic", checker.clock)
    state = ["--state", str(tmp_path / "state"), "--device", str(tmp_path / "scale")]
    with checker.at_work():
        code = main(["scale", "verify", *PLATE, *state, "--weight", "2kg", *options])
    return code, checker


def test_a_good_scale(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _ = verify(tmp_path, scale(), monkeypatch, "--badge", "C-014")
    out = capsys.readouterr().out
    assert code == 0
    assert " 1 of 8  empty the pan\n 1 of 8  put on 2 kg, middle\n" in out
    assert " 8 of 8  put on 2 kg, back left\n" in out
    assert "SCALE CHECK                  FIT\n" in out
    assert "OIML R 76-1:2006, Table 6, class\nIII, in service (3.5.2)\n" in out
    with Records.open(journal_in(tmp_path / "state")) as records:
        (stored,) = checks(records, Selection(badge="C-014"))
        assert stored.check.verification.holds
        assert stored.check.device == str(tmp_path / "scale")
        assert records.verify().problems == ()
        assert [r.kind for r in records.of_session(stored.check.check, 0, 2)] == [
            "readings",
            "scale_checked",
        ]


def test_a_worn_scale_by_handbook_44(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    code, _ = verify(tmp_path, scale(span=1.004), monkeypatch, "--standard", "nist-hb44")
    out = capsys.readouterr().out
    assert code == 1
    assert "SCALE CHECK              NOT FIT\n" in out
    assert "NIST Handbook 44, 2.20, Table 6,\nclass III, maintenance\n" in out
    assert "linearity                  FAILS\n" in out
    with Records.open(journal_in(tmp_path / "state")) as records:
        (stored,) = checks(records, Selection())
    assert not stored.check.verification.holds


@pytest.mark.parametrize("span", [1.0, 1.003])
def test_the_card_fits_a_label(span: float) -> None:
    check = replace(scale_check(span), station="the-long-line-of-the-kitchen-by-the-back-door")
    assert all(len(line) <= WIDTH for line in check_card(check))


@pytest.mark.parametrize(
    ("options", "line"),
    [
        ("", "--device: missing; give it, or a file with --config"),
        (
            "--device x --format ascii-stream --division 1g --capacity 6kg --weight 2kg",
            "--class: missing; write it as it stands on the scale's plate",
        ),
        (
            "--device x --format ascii-stream --class III --capacity 6kg --weight 2kg --e 1g",
            "--division: missing; write it as it stands on the scale's plate",
        ),
        (
            "--device x --format ascii-stream --division 1g --class III --weight 2kg",
            "--capacity: missing; write it as it stands on the scale's plate",
        ),
        (
            f"{' '.join(PLATE)} --device x",
            "--weight: give each test weight at hand, at least 1 and at most 10",
        ),
        (
            f"{' '.join(PLATE)} --device x --weight 2",
            '--weight: "2" has no unit; write a weight such as "128 g"',
        ),
        (
            f"{' '.join(PLATE)} --device x --weight 2kg --standard mine",
            '--standard: "mine" is not known; write oiml-r76 or nist-hb44',
        ),
        (
            f"{' '.join(PLATE)} --device x --weight 2kg --badge me",
            '--badge: "me" is no badge code; write one such as C-014',
        ),
        (
            f"{' '.join(PLATE)} --device x --weight 2kg --weight-error 5g",
            "--weight-error: too much: at 2 kg, middle the test weights may be off by 0.667 g in"
            " all; use better ones",
        ),
        (
            "--device x --format nosuch --division 1g --class III --capacity 6kg --weight 2kg",
            None,
        ),
    ],
)
def test_bad_input_is_one_line(
    options: str, line: str | None, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    state = ["--state", str(tmp_path / "state")]
    assert main(["scale", "verify", *options.split(), *state]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1
    assert err == f"scaled: {line}\n" if line else err.startswith("scaled: nosuch: no such scale")
    assert not (tmp_path / "state").exists()


CONFIG = """
state = "state"
[[station]]
name = "line-1"
device = "/dev/one"
format = "ascii-stream"
division = "1 g"
class = "III"
[[station]]
name = "line-2"
device = "/dev/two"
format = "ascii-stream"
"""


@pytest.mark.parametrize(
    ("options", "line"),
    [
        ("", "--station: missing; there are line-1 or line-2"),
        ("--station line-3", '--station: no "line-3"; there is line-1 or line-2'),
        (
            "--station line-1 --weight 2kg",
            "FILE: station line-1, capacity: missing; write it as it stands on the scale's plate",
        ),
        ("--device x", "--device: not together with --config; write it into the file"),
    ],
)
def test_a_configuration_file(
    options: str, line: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "kitchen.toml"
    file.write_text(CONFIG)
    assert main(["scale", "verify", "--config", str(file), *options.split()]) == 2
    assert capsys.readouterr().err == f"scaled: {line.replace('FILE', str(file))}\n"


def test_a_journal_that_a_daemon_holds(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    state = tmp_path / "state"
    with closing(Journal.open(journal_in(state))):
        options = [*PLATE, "--device", "x", "--weight", "2kg", "--state", str(state)]
        assert main(["scale", "verify", *options]) == 2
    err = capsys.readouterr().err
    assert err.count("\n") == 1
    assert "another daemon is writing to it; stop that one" in err


def test_a_port_that_another_program_holds(
    tmp_path: Path, serial_line: SerialLine, capsys: pytest.CaptureFixture[str]
) -> None:
    import serial  # noqa: PLC0415

    with serial.Serial(serial_line.device, exclusive=True):
        options = [*PLATE, "--device", serial_line.device, "--weight", "2kg"]
        assert main(["scale", "verify", *options, "--state", str(tmp_path / "state")]) == 2
    err = capsys.readouterr().err
    assert err.count("\n") == 1
    assert err.startswith(f"scaled: {serial_line.device}: ")
