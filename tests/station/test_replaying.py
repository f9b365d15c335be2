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


async def live(rig: Rig) -> None:
    async with rig.station() as station:
        for lived in LIVED:
            if isinstance(lived, list):
                await rig.show(station, lived)
            else:
                await station.command(lived)


def final(text: str) -> list[dict[str, Any]]:
    """The final words among lines of JSON, without what the journal adds."""
    said = [json.loads(line) for line in text.splitlines()]
    added = {"session", "seq", "recorded_at", "previous", "hash"}
    return [
        {key: value for key, value in each.items() if key not in added}
        for each in said
        if each["event"] in {"portion", "finished"}
    ]


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
