from __future__ import annotations

import asyncio
import os
import time
from contextlib import asynccontextmanager
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING

import pytest

from drivers.steady_name import steady_name
from scaled.core.errors import LinkLost, LinkRefused
from scaled.core.reading import Reading, Unit
from scaled.protocol import (
    Driver,
    Frame,
    LineSettings,
    Link,
    Notice,
    NoticeKind,
    Poll,
    load_driver,
)
from scaled.station.link import LinkState, LinkStatus, ScaleConfig
from scaled.station.scale_link import ScaleLink
from scaled.station.symptoms import FLAPS

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Callable
    from pathlib import Path

    from tests.conftest import SerialLine

SHORT_S, LONG_S = 0.2, 60.0
STREAM, POLL = load_driver("ascii-stream"), load_driver("ascii-poll")


class Seen:
    """A sink that keeps what came, and waits for what is to come."""

    def __init__(self) -> None:
        self.items: list[Reading | LinkStatus] = []
        self._came = asyncio.Event()

    async def __call__(self, item: Reading | LinkStatus) -> None:
        self.items.append(item)
        self._came.set()

    @property
    def weights(self) -> list[float]:
        return [item.weight for item in self.items if isinstance(item, Reading)]

    @property
    def statuses(self) -> list[LinkStatus]:
        return [item for item in self.items if isinstance(item, LinkStatus)]

    @property
    def states(self) -> list[str]:
        """Each state once, however often its detail changed."""
        names = [status.state.value for status in self.statuses]
        return [name for name, last in zip(names, [None, *names], strict=False) if name != last]

    async def until(self, wanted: Callable[[Seen], bool]) -> None:
        async with asyncio.timeout(60):
            while not wanted(self):
                self._came.clear()
                await self._came.wait()

    async def until_states(self, *states: str) -> None:
        await self.until(lambda seen: seen.states == list(states))

    async def until_weights(self, *weights: float) -> None:
        await self.until(lambda seen: seen.weights == list(weights))


@asynccontextmanager
async def followed(scale: ScaleLink) -> AsyncIterator[Seen]:
    seen = Seen()
    async with asyncio.TaskGroup() as tasks:
        task = tasks.create_task(scale.run(seen))
        yield seen
        task.cancel()


def stream_scale(line: SerialLine, stale_s: float = LONG_S) -> ScaleLink:
    config = ScaleConfig("ascii-stream", line.device, stale_s=stale_s)
    return ScaleLink(STREAM, config, asyncio.get_running_loop().time)


async def opened(scale: ScaleLink) -> ScaleLink:
    """Open before the scale speaks: what came before an opening is nobody's reading."""
    await scale.open()
    return scale


async def test_readings_come_after_the_state_that_allows_them(serial_line: SerialLine) -> None:
    scale = await opened(stream_scale(serial_line))
    async with followed(scale) as seen:
        await seen.until_states("opening")
        serial_line.say(b"0.50  g\r\nUS,GR,+00012.50  g\r\nST,GR,+00013.00  g\r\nST,GR,")
        serial_line.say(b"+00014.00  g\r\n")
        await seen.until_weights(12.5, 13.0, 14.0)
        opening, live, *readings = seen.items
        assert [item.state for item in (opening, live) if isinstance(item, LinkStatus)] == [
            LinkState.OPENING,
            LinkState.LIVE,
        ]
        first = readings[0]
        assert isinstance(first, Reading)
        assert (first.unit, first.stable) == (Unit.G, False)
        times = [reading.t for reading in readings]
        assert times == sorted(times)
        status = scale.status
        assert (status.state, status.detail) == (LinkState.LIVE, "")
        assert (status.readings, status.dropped) == (3, 1)
        assert (status.device, status.format) == (serial_line.device, "ascii-stream")


async def test_unplugged_in_mid_line_and_replugged_it_goes_on(serial_line: SerialLine) -> None:
    scale = await opened(stream_scale(serial_line))
    async with followed(scale) as seen:
        for times in (1, 2, 3):
            await seen.until_states("opening", *["live", "lost", "opening"] * (times - 1))
            serial_line.say(b"garbled\r\nST,GR,+00012.00  g\r\nST,GR,+000")
            await seen.until_weights(*[12.0] * times)
            serial_line.unplug()
            await seen.until(lambda seen: seen.states[-1:] == ["lost"])
            serial_line.plug()
        assert seen.statuses[2].detail == (
            f"{serial_line.device}: the line went away; "
            "check the cable, the adapter and the scale's power"
        )
        assert (scale.status.readings, scale.status.dropped) == (3, 3)


async def test_a_silent_scale_is_stale_until_it_speaks(serial_line: SerialLine) -> None:
    scale = await opened(stream_scale(serial_line, SHORT_S))
    async with followed(scale) as seen:
        await seen.until_states("opening", "stale")
        serial_line.say(b"garbled\r\nST,GR,+00012.00  g\r\n")
        await seen.until_states("opening", "stale", "live", "stale")
        serial_line.say(b"ST,GR,+00013.00  g\r\n")
        await seen.until_weights(12.0, 13.0)
        silent = f"{serial_line.device}: no readings for 0.2 s; check that the scale is on"
        assert [status.detail for status in seen.statuses[1:4]] == [
            f"{silent}, its cable is in, and it speaks ascii-stream at 9600 baud, 8N1",
            "",
            f"{silent} and its cable is in",
        ]


async def test_a_station_that_was_held_up_takes_no_scale_for_silent(
    serial_line: SerialLine,
) -> None:
    scale = await opened(stream_scale(serial_line, SHORT_S))
    async with followed(scale) as seen:
        serial_line.say(b"ST,GR,+00012.00  g\r\n")
        await seen.until_weights(12.0)
        serial_line.say(b"ST,GR,+00013.00  g\r\n")
        time.sleep(2 * SHORT_S)  # noqa: ASYNC251 -- as a machine does that is short of memory
        await seen.until_weights(12.0, 13.0)
        assert seen.states == ["opening", "live"]


async def test_bytes_that_never_end_a_line_are_stale_and_say_why(serial_line: SerialLine) -> None:
    scale = await opened(stream_scale(serial_line, SHORT_S))
    async with followed(scale) as seen:
        serial_line.say(b"ST,GR,+00012.00  g\r\n")
        await seen.until_weights(12.0)
        serial_line.say(b"\x1c\xf3" * 32)  # no longer than a frame that was cut off
        await seen.until(lambda seen: seen.states[-2:] == ["live", "stale"])
        assert seen.statuses[-1].detail.endswith("is on and its cable is in")
        serial_line.say(b"\x9c")
        nonsense = f"{serial_line.device}: what arrives is not ascii-stream; "
        await seen.until(lambda seen: seen.statuses[-1].detail.startswith(nonsense))


async def test_bytes_that_make_no_sense_are_stale_and_say_why(serial_line: SerialLine) -> None:
    noise, nonsense = (
        b"\x1c\xf3\n\x00\x9c\r",
        f"{serial_line.device}: what arrives is not ascii-stream; "
        "check the scale's format, baud rate and framing",
    )
    scale = await opened(stream_scale(serial_line, SHORT_S))
    async with followed(scale) as seen:
        await seen.until_states("opening", "stale")
        since = seen.statuses[-1].t
        serial_line.say(noise * 10)
        await seen.until(lambda seen: seen.statuses[-1].detail == nonsense)
        assert (seen.states, seen.statuses[-1].t) == (["opening", "stale"], since)
        assert scale.status.dropped == 20
        serial_line.say(b"ST,GR,+00012.00  g\r\n")
        await seen.until_weights(12.0)
        serial_line.unplug()
        serial_line.plug()
        await seen.until(lambda seen: seen.states.count("opening") == 2)
        serial_line.say(noise)
        await seen.until(lambda seen: seen.statuses[-1].detail == nonsense)
        assert scale.status.dropped == 22


async def test_overload_and_underload_are_states_of_their_own(serial_line: SerialLine) -> None:
    scale = await opened(stream_scale(serial_line))
    async with followed(scale) as seen:
        serial_line.say(b"OL,GR,+--------  g\r\n" * 3)
        serial_line.say(b"ST,GR,+00012.00  g\r\nUL,GR,---------  g\r\n")
        await seen.until_states("opening", "overload", "live", "underload")
        assert [status.detail for status in seen.statuses[1:]] == [
            "more on the scale than it can weigh; take some off",
            "",
            "below the scale's zero; empty the pan and press the scale's zero key",
        ]
        assert seen.weights == [12.0]


async def test_a_weight_in_another_unit_is_read_and_said_to_be(serial_line: SerialLine) -> None:
    config = ScaleConfig("ascii-stream", serial_line.device, unit=Unit.G, stale_s=LONG_S)
    scale = await opened(ScaleLink(STREAM, config, asyncio.get_running_loop().time))
    async with followed(scale) as seen:
        serial_line.say(b"ST,GR,+00012.00  g\r\nST,GR,+00001.05 oz\r\nST,GR,+00013.00  g\r\n")
        await seen.until_states("opening", "live", "wrong_unit", "live")
        await seen.until_weights(12.0, 1.05, 13.0)


async def test_a_line_pulled_again_and_again_is_flapping(serial_line: SerialLine) -> None:
    scale = await opened(stream_scale(serial_line))
    async with followed(scale) as seen:
        for times in range(1, FLAPS + 1):
            await seen.until(lambda seen: seen.states[-1:] == ["opening"])
            serial_line.say(b"ST,GR,+00012.00  g\r\n")
            await seen.until_weights(*[12.0] * times)
            serial_line.unplug()
            await seen.until(lambda seen: seen.states[-1] not in {"opening", "live"})
            serial_line.plug()
        away = [state for state in seen.states if state not in {"opening", "live"}]
        assert away == ["lost"] * (FLAPS - 1) + ["flapping"]


async def test_a_line_that_another_program_took_is_busy_until_it_lets_go(
    serial_line: SerialLine,
) -> None:
    scale = await opened(stream_scale(serial_line))
    async with followed(scale) as seen:
        serial_line.say(b"ST,GR,+00012.00  g\r\n")
        await seen.until_weights(12.0)
        serial_line.unplug()
        await seen.until(lambda seen: seen.states[-1:] == ["lost"])
        serial_line.plug(taken=True)
        await seen.until(lambda seen: seen.states[-1:] == ["busy"])
        assert seen.statuses[-1].detail == (
            f"{serial_line.device}: busy; close the other program that has it open"
        )
        serial_line.let_go()
        await seen.until(lambda seen: seen.states[-1:] == ["opening"])
        serial_line.say(b"ST,GR,+00013.00  g\r\n")
        await seen.until_weights(12.0, 13.0)


async def test_renumbered_after_a_replug_it_is_found_by_its_lasting_name(
    tmp_path: Path, serial_line: SerialLine
) -> None:
    by_id = tmp_path / "by-id"
    by_id.mkdir()
    lasting, numbered, renumbered = by_id / "usb-scale", tmp_path / "tty0", tmp_path / "tty1"

    def number(now: Path) -> None:
        now.symlink_to(os.readlink(serial_line.device))  # noqa: PTH115
        lasting.symlink_to(now)

    number(numbered)
    driver = replace(STREAM, steady=partial(steady_name, by_id=by_id))
    config = ScaleConfig("ascii-stream", str(numbered), stale_s=LONG_S)
    scale = await opened(ScaleLink(driver, config, asyncio.get_running_loop().time))
    async with followed(scale) as seen:
        serial_line.say(b"ST,GR,+00012.00  g\r\n")
        await seen.until_weights(12.0)
        lasting.unlink()  # as the line: what it leads to may be another test's soon
        numbered.unlink()
        serial_line.unplug()
        await seen.until(lambda seen: seen.states[-1:] == ["lost"])
        serial_line.plug()
        await asyncio.to_thread(number, renumbered)
        await seen.until(lambda seen: seen.states[-1:] == ["opening"])
        serial_line.say(b"ST,GR,+00013.00  g\r\n")
        await seen.until_weights(12.0, 13.0)
        assert scale.status.device == str(numbered)


async def test_a_scale_that_waits_to_be_asked_is_asked(serial_line: SerialLine) -> None:
    loop = asyncio.get_running_loop()
    asked: list[bytes] = []

    def answer() -> None:
        asked.append(os.read(serial_line.scale_end, 100))
        serial_line.say(b"WS     %3d.5 g\r\n" % len(asked))

    config = ScaleConfig("ascii-poll", serial_line.device, stale_s=LONG_S)
    scale = await opened(ScaleLink(POLL, config, loop.time))
    loop.add_reader(serial_line.scale_end, answer)
    async with followed(scale) as seen:
        await seen.until(lambda seen: len(seen.weights) >= 4)
        loop.remove_reader(serial_line.scale_end)
    assert seen.weights[:4] == [1.5, 2.5, 3.5, 4.5]
    # A loop that was held up may ask again before the scale has looked.
    assert set(b"".join(asked).split(b"\r\n")) == {b"R", b""}


async def test_being_cancelled_closes_the_line(serial_line: SerialLine) -> None:
    async with followed(await opened(stream_scale(serial_line))) as seen:
        await seen.until_states("opening")
    again = await opened(stream_scale(serial_line))
    await again.close()
    await again.close()


async def test_a_failing_sink_closes_the_line(serial_line: SerialLine) -> None:
    async def fail(_: Reading | LinkStatus) -> None:
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        await (await opened(stream_scale(serial_line))).run(fail)
    await (await opened(stream_scale(serial_line))).close()


async def test_a_first_opening_that_fails_is_the_callers_to_judge(serial_line: SerialLine) -> None:
    serial_line.unplug()
    with pytest.raises(LinkRefused, match="scale: does not exist; check"):
        await stream_scale(serial_line).open()


async def test_run_keeps_trying_a_line_that_is_not_there_yet(serial_line: SerialLine) -> None:
    serial_line.unplug()
    async with followed(stream_scale(serial_line)) as seen:
        await seen.until_states("opening", "lost")
        assert "does not exist; check" in seen.statuses[-1].detail
        serial_line.plug()
        await seen.until_states("opening", "lost", "opening")
        serial_line.say(b"ST,GR,+00012.00  g\r\n")
        await seen.until_weights(12.0)


class Script:
    """A driver that plays a script instead of a line: one list of words a link.

    A word is given to the reader as bytes; at the end of its list the link is lost. An empty
    list stands for a link that cannot be opened. The end of the script is silence.
    """

    def __init__(self, *links: list[bytes]) -> None:
        self.links = list(links)
        self.at_end = asyncio.Event()

    @property
    def driver(self) -> Driver:
        return Driver("a script", Ticks, self.open)

    async def before_word(self) -> None:
        """What happens before each word; nothing."""

    async def open(self, device: str, _: LineSettings) -> Link:
        words = self.links.pop(0) if self.links else None
        if words == []:
            raise LinkRefused(device, "refused", "wait")
        return ScriptedLink(self, words)


class ScriptedLink:
    step_g = None

    def __init__(self, script: Script, words: list[bytes] | None) -> None:
        self.script = script
        self.words = words

    async def read(self) -> bytes:
        if self.words:
            await self.script.before_word()
            return self.words.pop(0)
        if self.words is None:
            self.script.at_end.set()
            await asyncio.Event().wait()
        raise LinkLost("script", "lost", "wait")

    async def write(self, data: bytes) -> None:
        raise AssertionError(data)

    async def close(self) -> None:
        self.words = []


class Ticks:
    """Decodes each byte as a reading of its number, 255 as an overload."""

    dropped = 0

    def feed(self, data: bytes, t: float) -> list[Frame]:
        return [
            Notice(t, NoticeKind.OVERLOAD) if byte == 255 else Reading(t, float(byte))
            for byte in data
        ]


def scripted_scale(script: Script, clock: Callable[[], float] = lambda: 0.0) -> ScaleLink:
    return ScaleLink(script.driver, ScaleConfig("ticks", "script", stale_s=SHORT_S), clock)


async def test_pauses_double_to_a_limit_and_start_afresh_after_a_frame(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    pauses = []

    async def note(pause_s: float) -> None:
        pauses.append(pause_s)

    script = Script(*[[]] * 7, [b"\x01"], [], [b"\xff"], [])
    monkeypatch.setattr("scaled.station.scale_link.asyncio.sleep", note)
    async with followed(scripted_scale(script)), asyncio.timeout(60):
        await script.at_end.wait()
    assert pauses == [0.2, 0.4, 0.8, 1.6, 3.2, 5.0, 5.0, 0.2, 0.4, 0.2, 0.4]


async def test_readings_of_one_chunk_share_the_time_of_the_given_clock() -> None:
    times = iter([0.0, 10.0, 10.25, 10.5, 11.0])
    script = Script([b"\x01\x02", b"\x03"])
    scale = scripted_scale(script, lambda: next(times, 12.0))
    async with followed(scale) as seen:
        await seen.until_weights(1.0, 2.0, 3.0)
        readings = [item for item in seen.items if isinstance(item, Reading)]
        assert [reading.t for reading in readings] == [10.0, 10.0, 10.5]
        assert [status.t for status in seen.statuses[:2]] == [0.0, 10.25]


async def test_the_rate_is_that_of_the_latest_unbroken_readings() -> None:
    tenths = iter(range(1000))
    script = Script([bytes([weight]) for weight in [*range(200), 255, 1, 2, 3]])
    scale = scripted_scale(script, lambda: next(tenths) / 10)
    rates: list[tuple[str, float]] = []

    async def sink(item: Reading | LinkStatus) -> None:
        if isinstance(item, LinkStatus) and item.state is LinkState.LOST:
            assert item.rate_hz == 0.0
            raise ZeroDivisionError
        rates.append((scale.status.state.value, scale.status.rate_hz))

    with pytest.raises(ZeroDivisionError):
        await scale.run(sink)
    assert rates[:3] == [("opening", 0.0), ("live", 0.0), ("live", 0.0)]
    # The change to live took one tick of this clock too, until 50 readings are later than it.
    assert rates[3] == ("live", 5.0)
    assert [rate for _, rate in rates[53:202]] == pytest.approx([10.0] * 149)
    assert rates[202:] == [
        ("overload", 0.0),
        ("live", 0.0),
        ("live", 0.0),
        ("live", pytest.approx(5.0)),
        ("live", pytest.approx(20 / 3)),
    ]


@pytest.fixture
async def pass_s(monkeypatch: pytest.MonkeyPatch) -> Callable[[float], None]:
    """Moves the loop's clock by so many seconds; it stands still otherwise."""
    now_s = 0.0

    def move(by_s: float) -> None:
        nonlocal now_s
        now_s += by_s

    monkeypatch.setattr(asyncio.get_running_loop(), "time", lambda: now_s)
    return move


class TimedScript(Script):
    """A script whose words take a time to come, on the loop's clock."""

    def __init__(self, pass_s: Callable[[float], None], word_s: float, words: list[bytes]) -> None:
        super().__init__(words)
        self.pass_s = pass_s
        self.word_s = word_s

    async def before_word(self) -> None:
        self.pass_s(self.word_s)
        await asyncio.sleep(0)


async def states_until_lost(scale: ScaleLink, on_reading: Callable[[], None]) -> list[str]:
    states: list[str] = []

    async def sink(item: Reading | LinkStatus) -> None:
        if isinstance(item, Reading):
            on_reading()
            return
        states.append(item.state.value)
        if item.state is LinkState.LOST:
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        await scale.run(sink)
    return states


async def test_a_scale_that_speaks_in_time_is_never_stale(pass_s: Callable[[float], None]) -> None:
    script = TimedScript(pass_s, 0.75 * SHORT_S, [b"\x01", b"\x02", b"\x03", b"\x04"])
    states = await states_until_lost(scripted_scale(script), lambda: None)
    assert states == ["opening", "live", "lost"]


async def test_a_slow_sink_does_not_make_the_scale_stale(pass_s: Callable[[float], None]) -> None:
    script = TimedScript(pass_s, 0.0, [b"\x01", b"\x02", b"\x03"])
    states = await states_until_lost(scripted_scale(script), lambda: pass_s(10 * SHORT_S))
    assert states == ["opening", "live", "lost"]


class AskedScript(Script):
    """A scale that never answers, and counts when it is asked while the loop's clock runs."""

    TICK_S, INTERVAL_S = 1 / 64, 1 / 8

    def __init__(self, pass_s: Callable[[float], None]) -> None:
        super().__init__()
        self.pass_s = pass_s
        self.asked_at: list[float] = []

    @property
    def driver(self) -> Driver:
        return Driver("asked", Ticks, self.open, Poll(b"?", self.INTERVAL_S))

    async def open(self, _device: str, _: LineSettings) -> Link:
        return AskedLink(self, None)


class AskedLink(ScriptedLink):
    script: AskedScript

    async def read(self) -> bytes:
        while True:
            self.script.pass_s(self.script.TICK_S)
            await asyncio.sleep(0)

    async def write(self, data: bytes) -> None:
        assert data == b"?"
        self.script.asked_at.append(asyncio.get_running_loop().time())
        if len(self.script.asked_at) == 6:
            raise ZeroDivisionError


async def test_a_scale_is_asked_once_an_interval(pass_s: Callable[[float], None]) -> None:
    script = AskedScript(pass_s)
    with pytest.raises(ZeroDivisionError):
        await scripted_scale(script).run(Seen())
    assert [at // script.INTERVAL_S for at in script.asked_at] == [0, 1, 2, 3, 4, 5]
