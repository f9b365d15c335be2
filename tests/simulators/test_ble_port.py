"""What may befall a scale on the air, each as the station lives through it."""

from __future__ import annotations

import asyncio
from contextlib import AsyncExitStack, asynccontextmanager
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import pytest

from drivers.ble_link import PATIENCE, BleLink, Patience
from drivers.uart_service import open_uart_link
from drivers.weight_scale_service import DRIVER as MESSAGES
from drivers.weight_scale_service import open_weight_scale
from scaled.core.reading import Reading
from scaled.protocol import load_driver
from scaled.station.link import LinkState, LinkStatus, ScaleConfig
from scaled.station.scale_link import ScaleLink
from simulators.ble_port import BLE_WIRES, BlePort
from simulators.hands import ScriptedHands
from simulators.scale import SimulatedScale
from simulators.scene import quiet_scene
from simulators.standalone import deeds_of
from tests.air import ADDRESS, DEADLINE_S, until

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Sequence

    from scaled.protocol import Driver
    from tests.air import Air

HASTE = replace(PATIENCE, found=0.3, connected=5.0, said=0.4, answered=1.0)
CALM = replace(HASTE, answered=DEADLINE_S)
LINES = load_driver("ascii-stream")
STALE_S = 0.25


def lines(patience: Patience) -> Driver:
    return replace(LINES, open=partial(open_uart_link, patience=patience))


def messages(patience: Patience) -> Driver:
    return replace(MESSAGES, open=partial(open_weight_scale, patience=patience))


class Lived:
    """A scale on the air with a station that follows it, and all that the station went through."""

    def __init__(self, air: Air, format_: str, driver: Driver, address: str) -> None:
        self.hands = ScriptedHands()
        self.scale = SimulatedScale(quiet_scene(self.hands, "5 g", 20), BLE_WIRES[format_]())
        self.port = BlePort(air.radio, format_, address)
        clock = asyncio.get_running_loop().time
        config = ScaleConfig(format_, address, stale_s=STALE_S)
        self.link = ScaleLink(driver, config, clock)
        self.states: list[str] = []
        self.details: list[str] = []
        self.weights: list[float] = []
        self._came = asyncio.Event()

    async def hear(self, item: Reading | LinkStatus) -> None:
        if isinstance(item, Reading):
            self.weights.append(item.weight)
        else:
            self.details.append(item.detail)
            if self.states[-1:] != [item.state.value]:
                self.states.append(item.state.value)
        self._came.set()

    async def do(self, word: str) -> None:
        await {**self.port.deeds, **deeds_of(self.scale)}[word].do()

    async def until_states(self, *states: str) -> None:
        """Wait until it went through these, one after the other, others in between or not."""
        async with asyncio.timeout(DEADLINE_S):
            while not in_order(states, self.states):
                self._came.clear()
                await self._came.wait()
        self.states.clear()

    async def until_detail(self, detail: str) -> None:
        async with asyncio.timeout(DEADLINE_S):
            while detail not in self.details:
                self._came.clear()
                await self._came.wait()

    async def until_weight(self, weight: float) -> None:
        async with asyncio.timeout(DEADLINE_S):
            while self.weights[-1:] != [weight]:
                self._came.clear()
                await self._came.wait()


def in_order(wanted: Sequence[str], seen: Sequence[str]) -> bool:
    rest = iter(seen)
    return all(any(state == other for other in rest) for state in wanted)


@asynccontextmanager
async def living(
    air: Air,
    format_: str = "ascii-stream",
    address: str = ADDRESS,
    patience: Patience = HASTE,
) -> AsyncIterator[Lived]:
    speaking = lines if format_ == "ascii-stream" else messages
    lived = Lived(air, format_, speaking(patience), address)
    async with asyncio.TaskGroup() as tasks:
        following = tasks.create_task(lived.link.run(lived.hear))
        tasks.create_task(lived.scale.run(lived.port))
        await lived.until_states("live")
        yield lived
        lived.scale.stop()
        following.cancel()


@pytest.mark.parametrize("format_", ["ascii-stream", "weight-scale-service"])
async def test_what_lies_on_the_pan_is_what_is_heard(air: Air, format_: str) -> None:
    async with living(air, format_) as lived:
        lived.hands.place(115.0)
        await lived.until_weight(115.0 if format_ == "ascii-stream" else 0.115)
        assert lived.link.status.dropped == 0


@pytest.mark.parametrize(
    ("goes", "comes", "through"),
    [
        (["drop"], [], ["lost", "opening", "live"]),
        (["hang"], [], ["stale", "lost", "opening", "live"]),
        (["vanish"], ["return"], ["lost", "opening", "live"]),
        (["off"], ["on"], ["lost", "opening", "live"]),
        (["die"], ["revive"], ["lost", "opening", "live"]),
        (["slow", "drop"], ["quick"], ["lost", "opening", "live"]),
    ],
    ids="-".join,
)
async def test_what_goes_comes_back(
    air: Air, goes: list[str], comes: list[str], through: list[str]
) -> None:
    async with living(air) as lived:
        for word in goes:
            await lived.do(word)
        if comes:
            await lived.until_states("lost")
            through = through[1:]
        for word in comes:
            await lived.do(word)
        await lived.until_states(*through)
        lived.hands.place(50.0)
        await lived.until_weight(50.0)


async def test_a_silent_scale_that_is_there_is_stale_and_not_lost(air: Air) -> None:
    async with living(air, patience=CALM) as lived:
        await lived.do("hush")
        await lived.until_detail(
            f"{ADDRESS}: no readings for 0.25 s; check that the scale is on, awake and speaks "
            "ascii-stream"
        )
        link = lived.link._link
        assert isinstance(link, BleLink)
        for _ in range(2):
            heard_at = link._heard_at
            await until(lambda: link._heard_at > heard_at)  # noqa: B023 -- it answered
        assert lived.link.status.state is LinkState.STALE
        assert "lost" not in lived.states
        await lived.do("speak")
        await lived.until_states("live")


@pytest.mark.parametrize("format_", ["ascii-stream", "weight-scale-service"])
async def test_noise_is_dropped_counted_and_costs_nothing_more(air: Air, format_: str) -> None:
    async with living(air, format_) as lived:
        before = lived.link.status.readings
        await lived.do("garble")
        lived.hands.place(50.0)
        await lived.until_weight(50.0 if format_ == "ascii-stream" else 0.05)
        assert lived.link.status.dropped > 0
        assert lived.link.status.readings > before
        assert max(lived.weights) == lived.weights[-1]


async def test_what_makes_no_sense_is_said(air: Air) -> None:
    lived = Lived(air, "ascii-poll", lines(CALM), ADDRESS)
    async with asyncio.TaskGroup() as tasks:
        following = tasks.create_task(lived.link.run(lived.hear))
        await lived.until_states("stale")
        await lived.do("garble")
        await lived.until_detail(
            f"{ADDRESS}: what arrives is not ascii-poll; check the scale's format"
        )
        following.cancel()


async def test_what_the_scale_cannot_weigh_is_a_state(air: Air) -> None:
    async with living(air, "weight-scale-service") as lived:
        lived.hands.place(60_000.0)
        await lived.until_states("unsuccessful")
        lived.hands.place(0.0)
        await lived.until_states("live")


async def test_several_scales_keep_their_weights_apart(air: Air) -> None:
    async with AsyncExitStack() as stack:
        bench = [
            await stack.enter_async_context(living(air, address=f"C0:FF:EE:00:01:{number:02X}"))
            for number in range(4)
        ]
        for times in (1, 2):
            for number, lived in enumerate(bench):
                lived.hands.place(times * 100.0 + 5.0 * number)
                await lived.do("drop")
            for lived in bench:
                await lived.until_states("lost", "opening", "live")
            for number, lived in enumerate(bench):
                await lived.until_weight(times * 100.0 + 5.0 * number)
