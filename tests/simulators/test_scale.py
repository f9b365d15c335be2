from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from itertools import pairwise

import pytest

from simulators.gesture import Key
from simulators.hands import CookHands, ScriptedHands
from simulators.scale import SimulatedScale
from simulators.scene import Plan, Scene, quiet_scene
from simulators.wire import WIRES

DEADLINE_S = 30.0


@dataclass
class Ear:
    """A port that remembers what it was told."""

    opened: bool = True
    heard: list[bytes] = field(default_factory=list)
    asked: bytes = b""

    def write(self, data: bytes) -> None:
        self.heard.append(data)

    def read(self) -> bytes:
        data, self.asked = self.asked, b""
        return data

    def last(self) -> bytes:
        return self.heard[-1] if self.heard else b""


@asynccontextmanager
async def running(scale: SimulatedScale, ear: Ear) -> AsyncIterator[None]:
    async with asyncio.TaskGroup() as tasks, asyncio.timeout(DEADLINE_S):
        tasks.create_task(scale.run(ear))
        try:
            yield
        finally:
            scale.stop()


async def until(holds: Callable[[], bool]) -> None:
    while not holds():  # noqa: ASYNC110 -- the far end is no event of ours
        await asyncio.sleep(0.005)


def scripted(
    wire: str = "ascii-stream", speed: float = 20.0
) -> tuple[ScriptedHands, SimulatedScale]:
    hands = ScriptedHands()
    return hands, SimulatedScale(quiet_scene(hands), WIRES[wire](), speed)


async def test_shows_what_is_placed_added_and_pressed() -> None:
    hands, scale = scripted()
    ear = Ear()
    async with running(scale, ear):
        await until(lambda: ear.last() == b"ST,GR,+000000.0  g\r\n")
        hands.place(18.0)
        await until(lambda: ear.last() == b"ST,GR,+000018.0  g\r\n")
        hands.add(100.0)
        await until(lambda: ear.last() == b"ST,GR,+000118.0  g\r\n")
        hands.hit(Key.TARE)
        await until(lambda: ear.last() == b"ST,NT,+000000.0  g\r\n")
        hands.place(0.0)
        await until(lambda: ear.last() == b"ST,NT,-000118.0  g\r\n")
        hands.press(500.0, 2.0)
        await until(lambda: float(ear.last()[6:15]) > 300.0)
        await until(lambda: ear.last() == b"ST,NT,-000118.0  g\r\n")


async def test_time_stands_still_until_somebody_listens() -> None:
    hands, scale = scripted()
    ear = Ear(opened=False)
    async with running(scale, ear):
        hands.place(50.0)
        for _ in range(20):
            await asyncio.sleep(0.005)
        assert ear.heard == []
        ear.opened = True
        await until(lambda: ear.last() == b"ST,GR,+000050.0  g\r\n")
        assert float(ear.heard[0][6:15]) < 50.0


@pytest.mark.parametrize("speed", [1.0, 8.0])
async def test_keeps_the_pace_it_was_given(speed: float) -> None:
    """No reading comes before its time; how late one comes is up to the machine."""
    _, scale = scripted(speed=speed)
    ear = Ear()
    loop = asyncio.get_running_loop()
    began = loop.time()
    async with running(scale, ear):
        await until(lambda: len(ear.heard) >= 8)
        took_s = loop.time() - began
        count = len(ear.heard)
    assert took_s >= (count - 1) / 10.0 / speed


async def test_a_fast_scale_is_far_ahead_of_the_clock() -> None:
    _, scale = scripted(speed=200.0)
    ear = Ear()
    loop = asyncio.get_running_loop()
    began = loop.time()
    async with running(scale, ear):
        await until(lambda: len(ear.heard) >= 300)  # half a minute of readings
    assert loop.time() - began < 15.0


async def test_after_a_machine_was_held_up_each_reading_still_comes_at_its_own_time() -> None:
    _, scale = scripted(speed=20.0)
    heard_t: list[float] = []

    class Clocked(Ear):
        """A port at which the time of each reading is looked at, as a station does."""

        def write(self, data: bytes) -> None:
            super().write(data)
            heard_t.append(scale.t)

    async with running(scale, Clocked()):
        await until(lambda: len(heard_t) > 5)
        time.sleep(0.3)  # noqa: ASYNC251 -- as long as sixty readings take
        before = len(heard_t)
        await until(lambda: len(heard_t) > before + 20)
    assert [round(after - t, 6) for t, after in pairwise(heard_t)] == [0.1] * (len(heard_t) - 1)


async def test_answers_requests_and_nothing_else() -> None:
    hands, scale = scripted("ascii-poll")
    ear = Ear(asked=b"R\r\n")
    async with running(scale, ear):
        await until(lambda: len(ear.heard) == 1)
        assert ear.last() == b"WM         0 g\r\n"
        hands.place(77.0)
        heard = -1
        while ear.last() != b"WS        77 g\r\n":
            heard = len(ear.heard)
            ear.asked = b"R\r\n"
            await until(lambda seen=heard: len(ear.heard) > seen)  # type: ignore[misc]
        ear.asked = b"?\r\n"
        await until(lambda: ear.last() == b"E1\r\n")
        assert len(ear.heard) == heard + 2


async def test_silence_is_silence_and_time_goes_on() -> None:
    hands, scale = scripted()
    ear = Ear()
    async with running(scale, ear):
        await until(lambda: bool(ear.heard))
        scale.silent = True
        hands.place(40.0)
        before, rested_t = len(ear.heard), scale.t + 5.0
        await until(lambda: scale.t > rested_t)
        assert len(ear.heard) == before
        scale.silent = False
        await until(lambda: len(ear.heard) > before)
        assert ear.heard[before] == b"ST,GR,+000040.0  g\r\n"


async def test_a_cook_builds_to_the_end_and_is_done(recipe_text: str) -> None:
    plan = Plan(recipe_text=recipe_text, seed=3, builds=1)
    hands = plan.cook()
    scale = SimulatedScale(Scene(plan.pan(), hands, plan.line()), WIRES["ascii-stream"](), 200.0)
    ear = Ear()
    async with running(scale, ear):
        await scale.done.wait()
        assert hands.done
    (truth,) = hands.builds
    heaviest = max(float(line[6:15]) for line in ear.heard)
    assert heaviest >= truth.tare_g + truth.net_g - 2.0


async def test_a_paused_cook_finishes_the_movement_and_rests(recipe_text: str) -> None:
    plan = Plan(recipe_text=recipe_text, seed=3, builds=1)
    hands = plan.cook()
    scale = SimulatedScale(Scene(plan.pan(), hands, plan.line()), WIRES["ascii-stream"](), 50.0)
    ear = Ear()
    async with running(scale, ear):
        await until(lambda: float(ear.last()[6:15] or 0) > 30.0)
        scale.pause()
        mark = len(ear.heard) + 100
        await until(lambda: len(ear.heard) > mark + 100)
        weights = [float(line[6:15]) for line in ear.heard[mark:]]
        assert max(weights) - min(weights) <= 2.0
        assert not scale.done.is_set()
        scale.go()
        await scale.done.wait()


def test_pauses_do_not_change_what_the_cook_does(recipe_text: str) -> None:
    """Paused at any moment, the load goes through the same levels."""
    plan = Plan(recipe_text=recipe_text, seed=3, builds=1)
    straight, halting = plan.cook(), plan.cook()

    def levels(hands: CookHands, pause_every: int) -> list[float]:
        seen: list[float] = []
        count = 0
        while not hands.done:
            hands.paused = bool(pause_every) and count // pause_every % 2 == 1
            seen.append(round(hands.load_g(count * 0.01), 6))
            count += 1
        return [a for a, b in pairwise(seen) if a == b]

    assert list(dict.fromkeys(levels(straight, 0))) == list(dict.fromkeys(levels(halting, 137)))
    assert straight.builds == halting.builds


async def test_stopping_ends_it_also_before_anybody_listened() -> None:
    _, scale = scripted()
    async with running(scale, Ear(opened=False)):
        pass
    assert scale.done.is_set()
