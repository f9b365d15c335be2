"""A recording through the core, from the command line."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from scaled.catalogue import find_profile, load_profile, profile_ids
from scaled.cli import main
from simulators.recording import recording_text
from simulators.scene import Plan, simulate

if TYPE_CHECKING:
    from pathlib import Path

CANNOT = {
    "t,weight\n1,2\n": "line 1: the column unit is not in the header; need t,weight,unit,stable",
    "t,weight,unit,stable\n1,x,g,1\n": 'line 2, weight: "x" is not a number',
    "t,weight,unit,stable\n2,1,g,1\n1,1,g,1\n": (
        "line 3, t: time runs backwards, from 2.0 to 1.0"
    ),
    "": "empty; the first line must be t,weight,unit,stable",
}


def recorded(folder: Path, profile: str, builds: int = 2) -> Path:
    text = find_profile(profile).text
    run = simulate(Plan(recipe_text=text, seed=11, division="0.5 g", builds=builds))
    file = folder / f"{profile}.csv"
    file.write_text(recording_text(run), encoding="utf-8")
    return file


@pytest.mark.parametrize("profile", profile_ids())
def test_every_portion_gets_its_word_and_twice_the_same(
    profile: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = str(recorded(tmp_path, profile))
    assert main(["replay", file, "--profile", profile]) == 0
    once = capsys.readouterr().out
    assert main(["replay", file, "--profile", profile]) == 0
    assert capsys.readouterr().out == once
    said = [json.loads(line) for line in once.splitlines()]
    portions = {(e["build"], e["step"]) for e in said if e["event"] == "portion"}
    steps = [step.id for step in load_profile(profile).steps]
    assert portions == {(build, step) for build in (1, 2) for step in steps}
    assert [e["build"] for e in said if e["event"] == "finished"] == [1, 2]
    assert {e["event"] for e in said} == {"portion", "finished"}


def test_all_events_are_printed_when_asked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = str(recorded(tmp_path, "orchard-oat-pot", builds=1))
    assert main(["replay", file, "--profile", "orchard-oat-pot", "--events"]) == 0
    names = {json.loads(line)["event"] for line in capsys.readouterr().out.splitlines()}
    assert {"build_started", "settled", "portion", "finished"} <= names


def test_a_division_given_is_used_instead_of_the_recordings(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = str(recorded(tmp_path, "orchard-oat-pot", builds=1))
    found = []
    for division in ("0.5g", "5 g"):
        main(["replay", file, "--profile", "orchard-oat-pot", "--division", division])
        events = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
        found.append(min(e["u_g"] for e in events if e["event"] == "portion" and e["u_g"]))
    assert found[0] < 1.0 < found[1]


@pytest.mark.parametrize(("text", "reason"), CANNOT.items())
def test_a_bad_recording_is_one_line(
    text: str, reason: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "bad.csv"
    file.write_text(text, encoding="utf-8")
    assert main(["replay", str(file), "--profile", "orchard-oat-pot"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == f"scaled: {file}: {reason}\n"


def test_a_missing_recording_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "nowhere.csv"
    assert main(["replay", str(file), "--profile", "orchard-oat-pot"]) == 2
    assert capsys.readouterr().err == f"scaled: {file}: does not exist; check the path\n"


@pytest.mark.parametrize(
    ("division", "reason"),
    [
        ("1", '"1" has no unit; write a weight such as "128 g"'),
        ("0 g", '"0 g" must be more than zero'),
    ],
)
def test_a_bad_division_is_one_line(
    division: str, reason: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = str(recorded(tmp_path, "orchard-oat-pot", builds=1))
    command = ["replay", file, "--profile", "orchard-oat-pot", "--division", division]
    assert main(command) == 2
    assert capsys.readouterr().err == f"scaled: --division: {reason}\n"


def test_an_unknown_profile_is_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = str(recorded(tmp_path, "orchard-oat-pot", builds=1))
    assert main(["replay", file, "--profile", "no-such-dish"]) == 2
    known = ", ".join(profile_ids())
    line = f"scaled: no-such-dish: no profile has this id; known: {known}\n"
    assert capsys.readouterr().err == line


def test_another_profile_than_the_recordings_is_said_and_replayed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = recorded(tmp_path, "orchard-oat-pot", builds=1)
    path.write_text("# profile: orchard-oat-pot\n" + path.read_text())
    file = str(path)
    assert main(["replay", file, "--profile", "millstone-flatbread"]) == 0
    err = capsys.readouterr().err
    made_with = "recorded with the profile orchard-oat-pot, replayed with millstone-flatbread"
    assert err == f"scaled: {file}: {made_with}\n"
    assert main(["replay", file, "--profile", "orchard-oat-pot"]) == 0
    assert capsys.readouterr().err == ""
