"""The main job over Bluetooth: whole builds on bleak's real BlueZ backend, drops in between."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

import pytest

from scaled.config import StationConfig
from scaled.core.errors import LinkRefused, ProfileError
from scaled.core.events import Event, Finished, Portion, Verdict
from scaled.protocol import load_driver
from scaled.station.link import LinkState
from scaled.station.premises import Premises
from scaled.station.station import Station
from scaled.station.writer import Writer
from simulators.ble_port import BLE_WIRES, BlePort
from simulators.scene import Plan, quiet_scene
from tests.air import ADDRESS
from tests.station.rig import WHOLE_BUILD, Rig, Time, Watcher, frames, until

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from tests.air import Air

MISSED = 3
"""Readings that a drop costs here; ten come in a second."""


class RadioLine:
    """A scale on the air that says what it is told to, its lines cut in two."""

    def __init__(self, air: Air) -> None:
        self.device = ADDRESS
        self.scale = air.scale("ascii-stream")

    def say(self, data: bytes) -> None:
        self.scale.say(data[:13])
        self.scale.say(data[13:])


class RadioRig(Rig):
    """The station on such a scale."""

    line: RadioLine  # type: ignore[assignment]

    async def build(self, station: Station, drop_after: int | None) -> list[Event]:
        """Weigh a whole build, the connection dropped after so many readings; what was told."""
        missed = 0
        for number, line in enumerate(frames(WHOLE_BUILD)):
            if number == drop_after:
                self.line.scale.disconnect()
                await until(lambda: is_lost(station))
                missed = MISSED
            self.time.t = round(self.time.t + 0.1, 3)
            if missed:
                missed -= 1
                continue
            await until(lambda: self.line.scale.heard)
            heard = station._link.status.readings
            self.line.say(line)
            await until(lambda: station._link.status.readings > heard)  # noqa: B023
        await self.until_told("finished")
        return self.watcher.events


def is_lost(station: Station) -> bool:
    """By its link itself: what is shown waits for the disk, and the radio is back soon."""
    return station._link.status.state is LinkState.LOST


def said(events: Iterable[Event]) -> dict[str, tuple[Verdict, float | None]]:
    """The final word on each step, and on the whole."""
    words = {e.step: (e.verdict, e.net_g) for e in events if isinstance(e, Portion)}
    whole = next(e for e in events if isinstance(e, Finished))
    return words | {"the whole": (whole.verdict, whole.net_g)}


@pytest.fixture
def rig(tmp_path: Path, air: Air) -> RadioRig:
    return RadioRig(tmp_path, RadioLine(air), Time())  # type: ignore[arg-type]


# The cup stands from reading 10, lentils come at 30, yogurt at 50, the cup leaves at 70.
@pytest.mark.parametrize("drop_after", [5, 10, 20, 30, 31, 40, 49, 50, 51, 60, 69, 70, 75])
async def test_a_drop_anywhere_changes_no_word_on_a_portion(
    rig: RadioRig, drop_after: int
) -> None:
    async with rig.station() as station:
        told = said(await rig.build(station, drop_after))
    assert told.keys() == {"lentils", "yogurt", "the whole"}
    nets_g = {"lentils": 120.0, "yogurt": 40.0, "the whole": 160.0}
    for step, (verdict, net_g) in told.items():
        assert verdict in {Verdict.PASS, Verdict.UNSURE}
        if verdict is Verdict.PASS:
            assert net_g == pytest.approx(nets_g[step], abs=0.6)
    names = rig.watcher.names
    assert names.index("signal_lost") < names.index("signal_back")


async def test_without_a_drop_all_is_sure(rig: RadioRig) -> None:
    async with rig.station() as station:
        told = said(await rig.build(station, None))
    assert {verdict for verdict, _ in told.values()} == {Verdict.PASS}


OUTAGE_S = 1.9
"""What a drop takes on a real radio: noticed, found and connected again."""

TRAY = """
schema = 1
id = "barley-tray"
title = "Barley tray"
revision = "1"

[container]
name = "tray, 2 L"
tare = "120 g"
tare_tolerance = "15 g"

[[step]]
id = "barley"
ingredient = "pearl barley, steamed"
target = "300 g"
under = "25 g"
over = "25 g"
scoops = 3

[[step]]
id = "lentils"
ingredient = "brown lentils, stewed"
target = "240 g"
under = "25 g"
over = "25 g"
scoops = 2

[[step]]
id = "sauce"
ingredient = "tomato sauce"
target = "170 g"
under = "25 g"
over = "25 g"
scoops = 2
"""
DROPPED_IN = ("barley", "lentils", "sauce")


class Cook:
    """A simulated cook at a scale of one format, and the station that is to follow."""

    def __init__(self, folder: Path, format_: str, division: str, seed: int) -> None:
        profile = folder / "barley-tray.toml"
        profile.write_text(TRAY, encoding="utf-8")
        plan = Plan(recipe_text=TRAY, seed=seed, division=division, builds=1)
        keys = {"device": ADDRESS, "format": format_, "division": division, "stale_s": 60.0}
        self.config = StationConfig.model_validate(keys | {"profile": str(profile)})
        self.driver = load_driver(format_)
        self.hands = plan.cook()
        self.time = Time()
        self._scene = quiet_scene(self.hands, division)
        self._wire = BLE_WIRES[format_]()

    async def work(self, station: Station, port: BlePort, dropped_in: Sequence[str]) -> None:
        """Build a tray; in these steps the connection drops once food is under way."""
        due = list(dropped_in)
        while not self.hands.done:
            for data in self._weigh():
                heard = station._link.status.readings
                port.write(data)
                await until(lambda: station._link.status.readings > heard)  # noqa: B023
            if due and under_way(station, due[0]):
                del due[0]
                await self._sit_out(station, port)
        assert not due

    async def _sit_out(self, station: Station, port: BlePort) -> None:
        """The cook sees that the scale is lost, ends the movement and waits."""
        await port.drop()
        await until(lambda: is_lost(station))
        self.hands.paused = True
        for _ in range(round(OUTAGE_S * 10)):
            self._weigh()
        await until(lambda: port.opened)
        self.hands.paused = False

    def _weigh(self) -> list[bytes]:
        """What the scale sends in the next tenth of a second."""
        self.time.t = round(self.time.t + 0.1, 3)
        return [self._wire.show(shown) for shown in self._scene.update(self.time.t)]


@pytest.fixture(
    params=[("ascii-stream", "1 g", 3), ("weight-scale-service", "5 g", 3)],
    ids=lambda param: param[0],
)
def cook(request: pytest.FixtureRequest, tmp_path: Path) -> Cook:
    return Cook(tmp_path, *request.param)


async def test_a_cook_at_work_through_drops_in_the_middle_of_portions(
    tmp_path: Path, air: Air, cook: Cook
) -> None:
    port = BlePort(air.radio, cook.config.format, ADDRESS)
    watcher, journal = Watcher(), tmp_path / "journal.db"
    async with Writer.open(journal) as writer:
        premises = Premises(writer, journal, (), cook.time.clocks, "test")
        station = Station(cook.config, cook.driver, premises)
        await station.prepare()
        await station.open()
        async with asyncio.TaskGroup() as tasks:
            with station.joined() as feed:
                watching = tasks.create_task(watcher.read(feed))
                running = tasks.create_task(station.run())
                await cook.work(station, port, DROPPED_IN)
                await until(lambda: "finished" in watcher.names)
                running.cancel()
                await asyncio.wait([running, watching])
    (build,) = cook.hands.builds
    truth_g = {portion.step: portion.net_g for portion in build.portions}
    told = {event.step: event for event in watcher.events if isinstance(event, Portion)}
    assert told.keys() == truth_g.keys()
    assert watcher.names.count("signal_lost") == len(DROPPED_IN)
    sure = [portion for portion in told.values() if portion.verdict is not Verdict.UNSURE]
    for portion in sure:
        assert portion.u_g is not None
        assert portion.net_g == pytest.approx(truth_g[portion.step], abs=3 * portion.u_g)
    assert sure


def under_way(station: Station, step: str) -> bool:
    """Whether some of a portion lies there."""
    live = station.state.live
    return live is not None and live.step == step and (live.net_g or 0.0) > 5.0


async def open_cook(folder: Path, cook: Cook) -> Station:
    journal = folder / "journal.db"
    async with Writer.open(journal) as writer:
        premises = Premises(writer, journal, (), cook.time.clocks, "test")
        station = Station(cook.config, cook.driver, premises)
        try:
            await station.prepare()
            await station.open()
        finally:
            await station.close()
    return station


@pytest.fixture
def fine_cook(tmp_path: Path) -> Cook:
    return Cook(tmp_path, "weight-scale-service", "1 g", 3)


async def test_a_division_finer_than_the_scale_says_it_shows_is_refused(
    tmp_path: Path, air: Air, fine_cook: Cook
) -> None:
    air.scale()
    with pytest.raises(LinkRefused) as caught:
        await open_cook(tmp_path, fine_cook)
    assert str(caught.value) == (
        f"{ADDRESS}: shows steps of 5 g, not of 1 g; correct its division, or leave it out"
    )


@pytest.fixture
def narrow_cook(tmp_path: Path) -> Cook:
    cook = Cook(tmp_path, "weight-scale-service", "5 g", 3)
    profile = TRAY.replace('under = "25 g"', 'under = "8 g"').replace(
        'over = "25 g"', 'over = "8 g"'
    )
    (tmp_path / "barley-tray.toml").write_text(profile, encoding="utf-8")
    cook.config = cook.config.model_copy(update={"division_g": None})
    return cook


async def test_a_dish_too_fine_for_the_format_is_refused_though_nobody_said_the_division(
    tmp_path: Path, narrow_cook: Cook
) -> None:
    with pytest.raises(ProfileError, match=r"a band of 16 g is 3\.2 divisions of 5 g"):
        await open_cook(tmp_path, narrow_cook)


async def test_what_the_format_cannot_tell_is_said_though_nobody_said_the_division(
    tmp_path: Path, narrow_cook: Cook
) -> None:
    text = (tmp_path / "barley-tray.toml").read_text(encoding="utf-8")
    wide = text.replace('under = "8 g"', 'under = "40 g"', 1).replace("8 g", "40 g", 1)
    (tmp_path / "barley-tray.toml").write_text(wide, encoding="utf-8")
    async with Writer.open(tmp_path / "journal.db") as writer:
        premises = Premises(writer, tmp_path / "journal.db", (), narrow_cook.time.clocks, "test")
        station = Station(narrow_cook.config, narrow_cook.driver, premises)
        await station.prepare()
    assert station._sessions.current is not None
    state = station._sessions.current.state
    assert [line.partition(":")[0] for line in state.unfit] == [
        f"step {number} ({step}), under and over"
        for number, step in ((2, "lentils"), (3, "sauce"))
    ]
