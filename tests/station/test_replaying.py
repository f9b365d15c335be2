"""A session as it was lived, stored, exported and replayed: the same final words."""

from __future__ import annotations

import asyncio
import json
from typing import TYPE_CHECKING, Any

import pytest

from scaled.cli import main
from scaled.core.command import Command, Confirm, Next, Note, Undo
from tests.station.rig import CUP, LENTILS, LIFT, WHOLE_BUILD, YOGURT

if TYPE_CHECKING:
    from pathlib import Path

    from tests.station.rig import Rig, Script

LIVED: list[Script | Command] = [
    *([*CUP, (90.0, 2.0)], Next(), Note("too little"), Undo(), LENTILS),
    *(Next(), YOGURT, Confirm("lid"), Next(), LIFT),
    *(CUP, Next(), Undo(), Next(), LENTILS, LIFT),
    WHOLE_BUILD,
]


HEAVY: Script = [*CUP, (140.0, 2.0), (186.0, 2.0), *LIFT]
"""A whole build of a cook who puts in too much of everything."""


async def live(rig: Rig) -> None:
    async with rig.station() as station:
        for lived in LIVED:
            if isinstance(lived, list):
                await rig.show(station, lived)
            else:
                await station.command(lived)


async def work_twice(rig: Rig) -> None:
    """The same cook in two sessions, another one's between them."""
    async with rig.station() as station:
        for badge, builds in (("C-014", 2), ("C-015", 0), ("C-014", 2)):
            rig.time.t += 1.0
            await station.sign_in(badge)
            for _ in range(builds):
                await rig.show(station, HEAVY)
        rig.time.t += 1.0
        await station.sign_in("C-015")


def final(text: str) -> list[dict[str, Any]]:
    """The final words among lines of JSON, without what the journal adds."""
    return [each for each in told(text) if each["event"] in {"portion", "finished"}]


def told(text: str) -> list[dict[str, Any]]:
    """Lines of JSON, without what the journal adds."""
    added = {"session", "seq", "recorded_at", "previous", "hash"}
    said = [json.loads(line) for line in text.splitlines()]
    return [{key: value for key, value in each.items() if key not in added} for each in said]


@pytest.mark.parametrize(
    "plate",
    [
        {"division_g": None},
        {"division_g": 1.0},
        {"division_g": 1.0, "accuracy_class": "III"},
        {"division_g": None, "accuracy_class": "III", "e_g": 2.0},
    ],
    ids=["learnt", "known", "with its class", "learnt, with its class"],
)
def test_what_was_stored_is_said_again(
    rig: Rig, tmp_path: Path, capsys: pytest.CaptureFixture[str], plate: dict[str, object]
) -> None:
    rig.config = rig.config.model_copy(update=plate)
    asyncio.run(live(rig))
    export = ["records", "export", "--journal", str(rig.journal), "--format"]
    assert main([*export, "jsonl"]) == 0
    stored = final(capsys.readouterr().out)
    file = tmp_path / "session.csv"
    assert main([*export, "recording", "--out", str(file)]) == 0
    assert main(["replay", str(file), "--profile", str(rig.profile)]) == 0
    assert final(capsys.readouterr().out) == stored
    assert [each["build"] for each in stored if each["event"] == "finished"] == [1, 2, 3]
    keys = [line.split(",")[-1] for line in file.read_text().splitlines() if "," in line]
    assert [key for key in keys if key] == ["key", "next undo", "next", "next", "next undo next"]


def test_what_a_known_cook_was_told_is_said_again(
    rig: Rig, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asyncio.run(work_twice(rig))
    export = ["records", "export", "--journal", str(rig.journal), "--format"]
    assert main([*export, "jsonl"]) == 0
    started = [
        each for line in capsys.readouterr().out.splitlines()
        if (each := json.loads(line))["event"] == "session_started"
    ]  # fmt: skip
    assert [each["badge"] for each in started] == [None, "C-014", "C-015", "C-014", "C-015"]
    assert [each["habit"] is None for each in started] == [True, True, True, False, True]
    again = started[3]["session"]
    assert main([*export, "jsonl", "--session", again]) == 0
    others = {"session_started", "readings", "session_ended", "journal_head"}
    stored = [each for each in told(capsys.readouterr().out) if each["event"] not in others]

    def replayed(file: Path) -> list[dict[str, Any]]:
        assert main(["replay", str(file), "--profile", str(rig.profile), "--events"]) == 0
        return told(capsys.readouterr().out)

    file = tmp_path / "session.csv"
    assert main([*export, "recording", "--session", again, "--out", str(file)]) == 0
    assert replayed(file) == stored
    noted = file.read_text().splitlines(keepends=True)
    (note,) = (line for line in noted if line.startswith("# habit: "))
    assert json.loads(note.removeprefix("# habit: ")) == started[3]["habit"]
    stranger = tmp_path / "stranger.csv"
    stranger.write_text("".join(line for line in noted if line != note))
    assert replayed(stranger) != stored

    assert (
        main([*export, "recording", "--session", again, "--build", "2", "--out", str(file)]) == 0
    )
    (note,) = (line for line in file.read_text().splitlines() if line.startswith("# habit: "))
    seen = [len(offs) for offs in json.loads(note.removeprefix("# habit: ")).values()]
    assert seen == [len(offs) + 1 for offs in started[3]["habit"].values()]
