"""Two stations on real lines and one journal: a build goes from one scale to the other."""

from __future__ import annotations

import asyncio
import json
from contextlib import AsyncExitStack, asynccontextmanager
from typing import TYPE_CHECKING, Any

import pytest

from scaled.cli import main
from scaled.core.errand import errands
from scaled.core.events import Portion
from scaled.records.query import Selection, sessions
from scaled.records.reader import Records
from scaled.station.relay import relay
from scaled.station.writer import Writer
from tests.conftest import SerialLine
from tests.station.rig import CUP, LENTILS, PLACED, YOGURT, Rig, Time

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Iterator, Sequence
    from pathlib import Path

    from scaled.core.command import Command
    from scaled.core.errand import Scale
    from scaled.station.station import Station


class TwoScales:
    """A hot and a cold line of one daemon."""

    def __init__(self, folder: Path, lines: list[SerialLine]) -> None:
        self.time = Time()
        self.hot, self.cold = (
            self._rig(folder, line, place)
            for line, place in zip(lines, ("hot line", "cold line"), strict=True)
        )

    def _rig(self, folder: Path, line: SerialLine, place: str) -> Rig:
        rig = Rig(folder, line, self.time)
        rig.profile.write_text(PLACED, encoding="utf-8")
        named = {"name": place.replace(" ", "-"), "position": place}
        rig.config = rig.config.model_copy(update=named)
        return rig

    @asynccontextmanager
    async def running(self) -> AsyncIterator[tuple[Station, Station]]:
        """Run both stations with word carried between them."""
        async with AsyncExitStack() as stack:
            writer = await stack.enter_async_context(Writer.open(self.hot.journal))
            hot = await stack.enter_async_context(self.hot.station_on(writer))
            cold = await stack.enter_async_context(self.cold.station_on(writer))
            async with asyncio.TaskGroup() as tasks:
                carrying = tasks.create_task(relay([hot, cold]))
                yield hot, cold
                carrying.cancel()


@pytest.fixture
def scales(tmp_path: Path) -> Iterator[TwoScales]:
    """Both of them, on lines that are plugged in."""
    lines = [SerialLine(tmp_path / "hot"), SerialLine(tmp_path / "cold")]
    for line in lines:
        line.plug()
    yield TwoScales(tmp_path, lines)
    for line in lines:
        line.unplug()


OFF = [(0.0, 2.0)]
"""An empty pan, seen to be: a scale that was silent may hold anything."""


async def test_a_build_goes_from_one_station_to_the_other(scales: TwoScales) -> None:
    hot, cold = scales.hot, scales.cold
    async with scales.running() as (first, second):
        await cold.show(second, OFF)
        await hot.show(first, [*CUP, *LENTILS, *OFF])
        await cold.until_told("expected")
        await cold.show(second, [*OFF, *LENTILS])
        await cold.until_told("taken_over")
        await hot.until_told("handed_over")
        await cold.show(second, [*YOGURT, (0.0, 4.0)])
        await cold.until_told("finished")
    judged = [
        (event.step, str(event.verdict))
        for rig in (hot, cold)
        for event in rig.watcher.events
        if isinstance(event, Portion)
    ]
    assert judged == [("lentils", "pass"), ("yogurt", "pass")]
    assert "finished" not in hot.watcher.names


async def test_after_a_restart_the_build_on_its_way_is_still_expected(scales: TwoScales) -> None:
    hot, cold = scales.hot, scales.cold
    async with scales.running() as (first, second):
        await cold.show(second, OFF)
        await hot.show(first, [*CUP, *LENTILS, *OFF])
        await cold.until_told("expected")
    async with scales.running() as (first, second):
        await cold.show(second, OFF)
        await cold.until_told("expected", 2)
        await cold.show(second, LENTILS)
        await cold.until_told("taken_over")
        await hot.until_told("collected")
    assert hot.watcher.names.count("handed_over") == 1


async def test_word_for_a_session_that_is_over_is_dropped(
    scales: TwoScales, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A cook signs in on the cold line when word is on its way to it."""
    hot, cold = scales.hot, scales.cold
    async with scales.running() as (first, second):

        def told_too_late(line: Sequence[Scale]) -> Iterator[tuple[str, Command]]:
            for errand in errands(line):
                if second._sessions.badge is None:
                    second._sessions.sign_in("C-014")
                    second._recorder.wake()
                yield errand

        monkeypatch.setattr("scaled.station.relay.errands", told_too_late)
        await cold.show(second, OFF)
        await hot.show(first, [*CUP, *LENTILS, *OFF])
        await cold.until_told("expected")
        await cold.show(second, [*OFF, *LENTILS])
        await cold.until_told("taken_over")
    assert cold.watcher.names.count("expected") == 1


def test_what_was_stored_of_both_is_said_again(
    scales: TwoScales, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    asyncio.run(carry(scales))
    journal = str(scales.hot.journal)
    with Records.open(scales.hot.journal) as stored:
        names = [session.info.session for session in sessions(stored, Selection())]
    for name in names:
        export = ["records", "export", "--journal", journal, "--session", name, "--format"]
        assert main([*export, "jsonl"]) == 0
        said = events(capsys.readouterr().out)
        file = tmp_path / f"{name}.csv"
        assert main([*export, "recording", "--out", str(file)]) == 0
        assert main(["replay", str(file), "--profile", str(scales.hot.profile), "--events"]) == 0
        assert events(capsys.readouterr().out) == said
        assert said


async def carry(scales: TwoScales) -> None:
    """A build from the hot line to the cold one, and away."""
    hot, cold = scales.hot, scales.cold
    async with scales.running() as (first, second):
        await cold.show(second, OFF)
        await hot.show(first, [*CUP, *LENTILS, *OFF])
        await cold.until_told("expected")
        await cold.show(second, [*OFF, *LENTILS])
        await hot.until_told("handed_over")
        await cold.show(second, [*YOGURT, (0.0, 4.0)])
        await cold.until_told("finished")
        await hot.show(first, [(1.0, 1.0), (0.0, 1.0)])


def events(text: str) -> list[dict[str, Any]]:
    """The core's events among lines of JSON, without what the journal adds."""
    added = {"session", "seq", "recorded_at", "previous", "hash"}
    others = {"session_started", "session_ended", "readings", "journal_head"}
    lines = [json.loads(line) for line in text.splitlines()]
    return [
        {key: value for key, value in each.items() if key not in added}
        for each in lines
        if each["event"] not in others
    ]
