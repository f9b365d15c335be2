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
    '# habit: {"barley": "heavy"}\nt,weight,unit,stable\n1,2,g,1\n': (
        "habit: not how far off portions were; export the recording anew, or remove the note"
    ),
    **{
        f"# told 2: {word}\nt,weight,unit,stable\n1,2,g,1\n": (
            "told 2: not what a scale is told; export the recording anew, or remove the note"
        )
        for word in (
            "nothing",
            "[]",
            '{"event": "levitated", "t": 1.0, "build": 1}',
            '{"event": "tapped", "t": 1.0, "build": 1, "key": "next"}',
            '{"event": "collected", "t": 1.0, "build": 1}',
            '{"event": "collected", "t": "noon", "build": 1, "collected": 1}',
            '{"event": "expected", "t": 1.0, "build": 1, "transit": {"session": "x"}}',
        )
    },
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
        ("0 g", '"0 g" must be more than zero; write a weight such as "128 g"'),
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


def test_what_the_scale_cannot_judge_is_said_and_replayed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = str(recorded(tmp_path, "winter-barley-bowl", builds=1))
    coarse = ["--division", "0.5g", "--class", "III", "--e", "5g"]
    assert main(["replay", file, "--profile", "winter-barley-bowl", *coarse]) == 0
    printed = capsys.readouterr()
    warned = printed.err.splitlines()
    assert [line.split(": ")[2] for line in warned] == [
        "step 2 (lentils), under and over",
        "step 4 (tomato-sauce), under and over",
        "step 5 (red-cabbage), under and over",
        "step 6 (herb-yogurt), under and over",
        "step 7 (pumpkin-seeds), under and over",
    ]
    said = {e["step"]: e for e in map(json.loads, printed.out.splitlines()) if "step" in e}
    assert said["barley"]["verdict"] == "pass"
    # Class III, e = 5 g, in service: 5 g / sqrt(3) (OIML R 76-1:2006, Table 6 and 3.5.2).
    assert said["barley"]["u_scale_g"] == 2.887
    assert (said["pumpkin-seeds"]["verdict"], said["pumpkin-seeds"]["doubt"]) == (
        "unsure", "too_coarse",
    )  # fmt: skip
    assert said["pumpkin-seeds"]["attribution"] == "sure"


def test_the_recordings_own_plate_counts_unless_another_is_given(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = recorded(tmp_path, "orchard-oat-pot", builds=1)
    path.write_text("# class: III\n# e: 1 g\n" + path.read_text())
    command = ["replay", str(path), "--profile", "orchard-oat-pot"]

    def shares(*options: str) -> set[float | None]:
        assert main([*command, *options]) == 0
        return {json.loads(line)["u_scale_g"] for line in capsys.readouterr().out.splitlines()}

    assert shares() == {0.577}
    assert shares("--class", "II", "--e", "1g") == {0.577}
    assert shares("--class", "III", "--e", "2g") == {1.155}


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


OZ_G = 28.349523125
"""NIST Handbook 44, Appendix C (avoirdupois)."""


def rows(path: Path) -> list[tuple[float, float, str, str]]:
    """The readings of a recording whose columns stand in their usual order."""
    lines = path.read_text(encoding="utf-8").splitlines()
    cells = (line.split(",") for line in lines if line[0] not in "#t")
    return [(float(t), float(weight), unit, stable) for t, weight, unit, stable in cells]


def replayed(
    readings: list[tuple[float, float, str, str]], folder: Path, notes: str = "", *options: str
) -> int:
    file = folder / "replayed.csv"
    lines = "".join(f"{t},{weight},{unit},{stable}\n" for t, weight, unit, stable in readings)
    file.write_text(f"{notes}t,weight,unit,stable\n{lines}", encoding="utf-8")
    return main(["replay", str(file), "--profile", "winter-barley-bowl", *options])


def test_readings_without_a_unit_are_in_the_one_that_the_division_is_written_in(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    bowl = rows(recorded(tmp_path, "winter-barley-bowl", builds=1))
    shown = [(t, round(weight / OZ_G, 2), "", stable) for t, weight, _, stable in bowl]
    labelled = [(t, weight, "oz", stable) for t, weight, _, stable in shown]
    assert replayed(labelled, tmp_path, "# division: 0.01 oz\n", "--events") == 0
    out = capsys.readouterr().out
    assert sum(json.loads(line)["event"] == "portion" for line in out.splitlines()) == 7
    assert replayed(shown, tmp_path, "# division: 0.01 oz\n", "--events") == 0
    assert capsys.readouterr().out == out
    assert replayed(shown, tmp_path, "# division: 1 g\n", "--events", "--division", "0.01oz") == 0
    assert capsys.readouterr().out == out
    some = [*shown[:20], *labelled[20:40], *shown[40:]]
    assert replayed(some, tmp_path, "# division: 0.01 oz\n", "--events") == 0
    assert capsys.readouterr().out == out


REST = [(i / 10, 0.0, "g", "1") for i in range(20)]
CONTAINER = "container (paper bowl, 750 mL, 18 g)"
NOTHING = {
    f"the weight rises by 0 g, less than the {CONTAINER}; is the unit right?": (REST, ""),
    f"the weight rises by 1 g, less than the {CONTAINER}; no reading has a unit, so all count as"
    " g: is that right?": (
        [(i / 10, float(i // 20), "", "") for i in range(40)],
        "# division: 1 g\n",
    ),
    f"no weight at rest is like the {CONTAINER}; is the unit right?": (
        [*REST, (2.0, 200.0, "g", "0"), (2.1, 360.0, "g", "0"),
         *((t + 2.2, *rest) for t, *rest in REST)],
        "",
    ),
    "378 g stood on the pan from the start; let the recording begin before that": (
        [(i / 10, 378.0, "g", "1") for i in range(30)],
        "",
    ),
    "the weight is never at rest in 20 readings over 1900 s; a rest takes three of them within a"
    " second; is t in seconds?": ([(t * 1000, *rest) for t, *rest in REST], ""),
    "too few readings have a t of their own, later than the one before: 1 of 20": (
        [(5.0, *rest) for _, *rest in REST],
        "",
    ),
    "a container of 18 g was set down at 2.4 s, but nothing was added to it": (
        [*REST, *((t + 2.0, 18.0, "g", "1") for t, *_ in REST)],
        "# division: 1 g\n",
    ),
    "the weight goes up to 378 kg, the whole dish is 360 g; is the unit right?": (
        [*REST, *((t + 2.0, 378.0, "kg", "1") for t, *_ in REST)],
        "",
    ),
    "the weight goes up to 378 kg, the whole dish is 360 g; no reading has a unit, so all count as"
    " kg: is that right?": (
        [*((t, 0.0, "", "") for t, *_ in REST), *((t + 2.0, 378.0, "", "") for t, *_ in REST)],
        "# division: 0.001 kg\n",
    ),
}  # fmt: skip


@pytest.mark.parametrize(("reason", "recording"), NOTHING.items())
def test_a_recording_without_a_portion_says_why_in_one_line(
    reason: str,
    recording: tuple[list[tuple[float, float, str, str]], str],
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    readings, notes = recording
    assert replayed(readings, tmp_path, notes) == 0
    out, err = capsys.readouterr()
    assert out == ""
    assert err == f"scaled: {tmp_path / 'replayed.csv'}: no build found: {reason}\n"


def test_one_garbled_weight_does_not_hide_the_reason(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One line in twenty may be damaged; that is no mix-up of units."""
    garbled = [*REST[:9], (0.9, 99999.0, "g", "1"), *REST[10:]]
    assert replayed(garbled, tmp_path) == 0
    assert "goes up to" not in capsys.readouterr().err


def test_word_of_a_build_that_was_not_replayed_is_passed_over(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = recorded(tmp_path, "orchard-oat-pot", builds=1)
    text = file.read_text(encoding="utf-8")
    told = [
        f'# told {place}: {{"event": "{event}", "t": {t}, "build": 0, {key}}}\n'
        for place, (event, t, key) in enumerate(
            [("forgotten", 0.0, '"origin": "x/1"'), ("collected", 9e9, '"collected": 7')], 1
        )
    ]
    assert main(["replay", str(file), "--profile", "orchard-oat-pot"]) == 0
    plain = capsys.readouterr().out
    file.write_text("".join(told) + text, encoding="utf-8")
    assert main(["replay", str(file), "--profile", "orchard-oat-pot"]) == 0
    assert capsys.readouterr().out == plain
