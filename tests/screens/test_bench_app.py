"""The cook's screen against a station over a real socket: keys, loss and return."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from scaled.screens import bench_screen
from scaled.screens.bench import BenchApp, bench_app
from scaled.screens.bench_screen import BenchScreen
from scaled.screens.shown import View
from scaled.screens.wire import Away, EventsMessage, StateMessage
from tests.screens.benched import Bench, benched, fake
from tests.screens.eventually import eventually
from tests.screens.scenes import scene
from tests.screens.stage import drawn, staged, text

FINISHED = {
    "event": "finished",
    "t": 60.0,
    "build": 4,
    "net_g": 351.0,
    "u_g": 0.5,
    "verdict": "over",
    "confidence": 0.99,
    "duration_s": 48.0,
}


async def test_the_screen_follows_the_station_without_any_key(tmp_path: Path) -> None:
    async with benched(tmp_path) as bench:
        await bench.sees("add 36 g of pearl barley: one more scoop")
        bench.station.show(fake("take-back").state)
        await bench.sees("take back 20 g of pearl barley")
        bench.station.show(fake("lost").state)
        await bench.sees("old weight")
        assert bench.station.commands == []


@pytest.mark.parametrize(
    ("key", "command"),
    [("n", "next"), ("space", "next"), ("pagedown", "next"), ("u", "undo"), ("pageup", "undo")],
)
async def test_keys_and_foot_switches_tell_the_station(
    tmp_path: Path, key: str, command: str
) -> None:
    async with benched(tmp_path) as bench:
        await bench.pilot.press(key)
        await bench.asked({"command": command})


async def test_a_key_on_the_screen_can_be_touched(tmp_path: Path) -> None:
    async with benched(tmp_path) as bench:
        await bench.pilot.click("Key")
        await bench.asked({"command": "next"})


async def test_a_refusal_is_said_in_the_stations_words(tmp_path: Path) -> None:
    async with benched(tmp_path) as bench:
        bench.station.refusal = "undo: no step of this build is done yet"
        await bench.pilot.press("u")
        await bench.sees("! undo: no step of this build is done yet")
        bench.station.refusal = None
        await bench.pilot.press("n")
        await eventually(lambda: not bench.says("no step of this build"))


async def test_a_slow_answer_does_not_stop_the_screen(tmp_path: Path) -> None:
    async with benched(tmp_path) as bench:
        bench.station.answering.clear()
        await bench.pilot.press("n")
        await bench.asked({"command": "next"})
        bench.station.show(fake("take-back").state)
        await bench.sees("take back 20 g of pearl barley")
        bench.station.answering.set()


async def test_the_screen_waits_for_a_daemon_that_is_not_there_yet(tmp_path: Path) -> None:
    app = bench_app(f"unix:{tmp_path}/s")
    async with app.run_test(size=(80, 24)) as pilot:
        bench = Bench(fake(), app, pilot)
        await bench.sees("start one with: scaled")
        await pilot.press("p")
        await bench.sees("! the station is away: no list of dishes")
        async with bench.station.serving(uds=f"{tmp_path}/s"):
            await bench.sees("add 36 g of pearl barley")


async def test_a_daemon_that_comes_back_shows_where_the_build_was(tmp_path: Path) -> None:
    app = bench_app(f"unix:{tmp_path}/s")
    async with app.run_test(size=(80, 24)) as pilot:
        bench = Bench(fake(), app, pilot)
        async with bench.station.serving(uds=f"{tmp_path}/s"):
            await bench.sees("add 36 g of pearl barley")
        await bench.sees("nothing answers")
        await bench.sees("old weight")
        await bench.sees("the build is kept")
        again = fake("take-back")
        async with again.serving(uds=f"{tmp_path}/s"):
            await bench.sees("take back 20 g of pearl barley")
            await eventually(lambda: not bench.says("old weight"))


async def test_a_daemon_that_hangs_does_not_look_alive(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bench_screen, "_NEWS_S", 0.5)
    async with benched(tmp_path) as bench:
        bench.station.silent = True
        await bench.sees("old weight")
        bench.station.silent = False
        await eventually(lambda: not bench.says("old weight"))


async def test_a_screen_that_was_held_up_takes_no_station_for_away(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    async with benched(tmp_path) as bench:
        screen = bench.app.bench
        monkeypatch.setattr(bench_screen, "_NEWS_S", screen._quiet_s + 1.0)
        time.sleep(1.5)  # noqa: ASYNC251 -- as a machine does that is short of memory
        screen.draw()
        assert screen._scene.in_touch
        monkeypatch.undo()


async def test_the_finished_build_is_judged_on_the_screen(tmp_path: Path) -> None:
    async with benched(tmp_path, "place") as bench:
        bench.station.happen(FINISHED)
        await bench.sees("▲ the whole build 351 g, over; set an empty")


async def test_an_odd_container_is_said_on_the_screen(tmp_path: Path) -> None:
    async with benched(tmp_path, "wrong-container") as bench:
        await bench.sees("this is the paper bowl, 1 L: the dish asks for the paper bowl, 750 mL")


async def test_an_odd_container_is_said_though_it_was_found_out_late(tmp_path: Path) -> None:
    odd = {"event": "odd_container", "t": 3.0, "build": 4, "tare_g": 25.2, "expected_g": 18.0}
    async with benched(tmp_path, "check") as bench:
        bench.station.happen(odd | {"container": None, "expected": "paper bowl, 750 mL"})
        await bench.sees("? this container weighs 25 g, the dish's 18 g: swap it, or just begin")


async def test_a_judgement_from_before_a_gap_is_not_shown_after_it() -> None:
    place = scene("place")
    assert place.state is not None
    state = StateMessage(type="state", state=place.state)
    async with staged(place, (80, 24)) as pilot:
        bench = pilot.app.screen
        assert isinstance(bench, BenchScreen)
        for update in (EventsMessage(type="events", events=(FINISHED,)), Away("gone"), state):
            bench.take(update)
        bench.draw()
        await drawn(pilot)
        assert "set an empty paper bowl" in text(pilot)
        assert "whole build" not in text(pilot)


@pytest.mark.parametrize("bell", [True, False])
async def test_the_bell_rings_only_when_asked_and_once_a_change(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, *, bell: bool
) -> None:
    rings: list[str] = []
    monkeypatch.setattr(BenchApp, "bell", lambda _: rings.append("ring"))
    async with benched(tmp_path, bell=bell) as bench:
        await bench.sees("add 36 g")
        for name, words in (
            ("next", "good: next"),
            ("add", "add 36 g"),
            ("take-back", "take back"),
        ):
            bench.station.show(fake(name).state)
            await bench.sees(words)
    assert len(rings) == (2 if bell else 0)


async def test_fast_readings_are_drawn_together(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    drawn: list[View] = []
    show = BenchScreen._show

    def count(screen: BenchScreen, shown: View) -> None:
        drawn.append(shown)
        show(screen, shown)

    async with benched(tmp_path) as bench:
        monkeypatch.setattr(BenchScreen, "_show", count)
        for _ in range(50):
            for name in ("add-first", "add", "next", "take-back"):
                bench.station.show(fake(name).state)
        bench.station.show(fake("check").state)
        await bench.sees("not clear: tomato sauce in?")
    assert 1 <= len(drawn) < 50


async def test_a_wrong_station_ends_the_screen_with_its_reason(tmp_path: Path) -> None:
    async with fake().serving(uds=f"{tmp_path}/s"):
        app = bench_app(f"unix:{tmp_path}/s", "cold")
        async with app.run_test(size=(80, 24)):
            await eventually(lambda: app.fault)
    assert str(app.fault) == "--station: cold: no such station; there are: line-1"
    assert app.return_code == 2


@pytest.mark.parametrize("keys", [["q"], ["ctrl+c"], ["b", "ctrl+c"], ["c", "ctrl+c"]])
async def test_quitting_is_one_key(tmp_path: Path, keys: list[str]) -> None:
    async with benched(tmp_path) as bench:
        await bench.pilot.press(*keys)
        await eventually(lambda: not bench.app.is_running)
    assert bench.app.return_code == 0
    assert bench.station.commands == []
