"""``scaled profile`` as its author's users type it."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import pytest

from scaled.catalogue import find_profile
from scaled.commands import profile
from scaled.core.errors import ConfigError, ScaledError
from scaled.core.profile_schema import profile_schema


def scaled(*words: str) -> int:
    parser = argparse.ArgumentParser(prog="scaled")
    profile.add(parser.add_subparsers(required=True))
    args = parser.parse_args(["profile", *words])
    return int(args.run(args))


def bowl(folder: Path, *changes: tuple[str, str]) -> str:
    text = find_profile("winter-barley-bowl").text
    for old, new in changes:
        assert old in text
        text = text.replace(old, new, 1)
    path = folder / "bowl.toml"
    path.write_text(text, "utf-8")
    return str(path)


def test_a_sound_profile_exits_0(capsys: pytest.CaptureFixture[str]) -> None:
    assert scaled("check", "winter-barley-bowl", "orchard-oat-pot", "--division", "1g") == 0
    assert capsys.readouterr().out.splitlines() == [
        "winter-barley-bowl: 0 errors, 0 warnings, 0 notes",
        "orchard-oat-pot: 0 errors, 0 warnings, 0 notes",
    ]


def test_warnings_and_notes_alone_exit_0(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = bowl(tmp_path, ('brimful = "750 mL"', 'brimful = "500 mL"'))
    assert scaled("check", path) == 0
    out = capsys.readouterr().out.splitlines()
    assert out[0].startswith(f"{path}: warning: container, brimful: ")
    assert out[-1] == f"{path}: 0 errors, 1 warning, 1 note"


def test_an_error_exits_1(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = bowl(tmp_path, ('weight = "342 g"', 'weight = "360 g"'))
    assert scaled("check", path, "--division", "1g") == 1
    assert capsys.readouterr().out.splitlines() == [
        f"{path}: error: finished, weight: 360 g is 18 g more than the portions' sum"
        " of 342 g: that is the container, tare 18 g; set includes_container = true",
        f"{path}: 1 error, 0 warnings, 0 notes",
    ]


def test_a_bad_file_exits_2_and_the_others_are_still_checked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = bowl(tmp_path, ('target = "118 g"', 'target = "118"'))
    assert scaled("check", "nowhere", path, "orchard-oat-pot", "--division", "1g") == 2
    captured = capsys.readouterr()
    assert captured.err.splitlines() == [
        "scaled: nowhere: no profile has this id;"
        " known: millstone-flatbread, orchard-oat-pot, winter-barley-bowl",
        f'scaled: {path}: step 1 (barley), target: "118" has no unit;'
        ' write a weight such as "128 g"',
    ]
    assert captured.out == "orchard-oat-pot: 0 errors, 0 warnings, 0 notes\n"


@pytest.mark.parametrize(
    ("division", "line"),
    [
        ("1", '--division: "1" has no unit; write a weight such as "128 g"'),
        ("0g", '--division: "0g" must be more than zero; write a weight such as "128 g"'),
        ("1mL", '--division: "1mL" is not a weight; write one such as "128 g"'),
    ],
)
def test_a_wrong_division_is_told(division: str, line: str) -> None:
    with pytest.raises(ScaledError) as caught:
        scaled("check", "orchard-oat-pot", "--division", division)
    assert str(caught.value) == line


def test_show_prints_the_card(capsys: pytest.CaptureFixture[str]) -> None:
    assert scaled("show", "millstone-flatbread") == 0
    assert capsys.readouterr().out.startswith("Millstone flatbread  ")


def test_show_of_an_unknown_profile_is_an_error() -> None:
    with pytest.raises(ScaledError, match=r"^nowhere: no profile has this id"):
        scaled("show", "nowhere")


def test_list_names_the_shipped_dishes(capsys: pytest.CaptureFixture[str]) -> None:
    assert scaled("list") == 0
    assert capsys.readouterr().out.splitlines() == [
        "millstone-flatbread     Millstone flatbread, revision 2",
        "orchard-oat-pot         Orchard oat pot, revision 1",
        "winter-barley-bowl      Winter barley bowl, revision 3",
    ]


def test_schema_prints_the_contract(capsys: pytest.CaptureFixture[str]) -> None:
    assert scaled("schema") == 0
    assert json.loads(capsys.readouterr().out) == profile_schema()


@pytest.mark.parametrize("words", [[], ["check"], ["show"], ["list"], ["schema"]])
def test_every_help_has_an_example(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as caught:
        scaled(*words, "--help")
    assert caught.value.code == 0
    assert "Example: scaled profile" in capsys.readouterr().out


def test_the_scales_class_is_checked_too(capsys: pytest.CaptureFixture[str]) -> None:
    command = ("check", "winter-barley-bowl", "--division", "1g")
    assert scaled(*command, "--class", "III") == 0
    budget, tally = capsys.readouterr().out.splitlines()
    assert budget.startswith("winter-barley-bowl: note: scale: u = 0.71 g or more (barley, 118 g)")
    assert tally == "winter-barley-bowl: 0 errors, 0 warnings, 1 note"
    with pytest.raises(ConfigError) as refused:
        scaled(*command, "--class", "IIII")
    assert str(refused.value) == (
        "--e: class IIII has an e of 5 g or more, not 1 g; write both as they stand on the"
        " scale's plate"
    )
