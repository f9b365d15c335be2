from __future__ import annotations

import asyncio
import errno
import os
import threading
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
import serial

from drivers.serial_link import SerialLink, open_serial_link
from scaled.core.errors import LinkLost, LinkRefused
from scaled.protocol import LineSettings

if TYPE_CHECKING:
    from collections.abc import AsyncIterator

    from tests.conftest import SerialLine

LOST = "the line went away; check the cable, the adapter and the scale's power"


@pytest.fixture
async def link(serial_line: SerialLine) -> AsyncIterator[SerialLink]:
    link = await open_serial_link(serial_line.device, LineSettings())
    yield link
    await link.close()


def descriptors() -> int:
    return len(list(Path("/proc/self/fd").iterdir()))


async def test_bytes_go_both_ways(serial_line: SerialLine, link: SerialLink) -> None:
    serial_line.say(b"\x00\r\n\x11\x13\xff")
    assert await link.read() == b"\x00\r\n\x11\x13\xff"
    await link.write(b"R\r\n")
    assert os.read(serial_line.scale_end, 100) == b"R\r\n"


async def test_a_cancelled_read_loses_nothing(serial_line: SerialLine, link: SerialLink) -> None:
    for word in (b"one", b"two"):
        with pytest.raises(TimeoutError):
            async with asyncio.timeout(0):
                await link.read()
        serial_line.say(word)
        assert await link.read() == word


async def test_unplugging_ends_a_waiting_read_and_whatever_follows(
    serial_line: SerialLine, link: SerialLink
) -> None:
    asyncio.get_running_loop().call_soon(serial_line.unplug)
    with pytest.raises(LinkLost) as caught:
        await link.read()
    assert str(caught.value) == f"{serial_line.device}: {LOST}"
    assert caught.value.__cause__ is not None
    with pytest.raises(LinkLost):
        await link.read()
    with pytest.raises(LinkLost):
        await link.write(b"R\r\n")


async def test_what_was_said_before_unplugging_may_be_gone_but_the_loss_is_told(
    serial_line: SerialLine, link: SerialLink
) -> None:
    serial_line.say(b"last words")
    serial_line.unplug()
    with pytest.raises(LinkLost):  # noqa: PT012 -- the system may still hand out the words
        while True:
            assert await link.read() == b"last words"


async def test_nothing_watches_a_lost_line(serial_line: SerialLine, link: SerialLink) -> None:
    serial_line.unplug()
    with pytest.raises(LinkLost):
        await link.read()
    assert not asyncio.get_running_loop().remove_reader(link._port.fileno())


async def test_closing_ends_a_waiting_read(link: SerialLink) -> None:
    async with asyncio.TaskGroup() as tasks:
        tasks.create_task(link.close())
        with pytest.raises(LinkLost):
            await link.read()
    await link.close()
    with pytest.raises(LinkLost):
        await link.write(b"R\r\n")


async def test_a_scale_that_takes_nothing_does_not_hold_up_the_loop(link: SerialLink) -> None:
    async with asyncio.timeout(10):
        for _ in range(100):
            await link.write(b"R\r\n" * 1000)


async def test_a_line_is_ours_alone(serial_line: SerialLine, link: SerialLink) -> None:
    assert link
    with pytest.raises(LinkRefused) as caught:
        await open_serial_link(serial_line.device, LineSettings())
    assert str(caught.value) == (
        f"{serial_line.device}: busy; close the other program that has it open"
    )


async def test_opening_what_is_no_serial_line_says_so(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "dangling").symlink_to("/nowhere")
    not_serial = "not a serial line; name the scale's own device, such as /dev/ttyUSB0"
    absent = "does not exist; check that the scale is plugged in and the path is right"
    for path, reason in (
        (tmp_path / "missing", absent),
        (tmp_path / "dangling", absent),
        (tmp_path / "file" / "deeper", absent),
        (tmp_path / "file", not_serial),
        (tmp_path / "pipe", not_serial),
        (tmp_path, not_serial),
        (Path("/dev/null"), not_serial),
    ):
        with pytest.raises(LinkRefused) as caught:
            await open_serial_link(str(path), LineSettings())
        assert str(caught.value) == f"{path}: {reason}"


@pytest.mark.parametrize(
    ("cause", "reason"),
    [
        (
            errno.EACCES,
            "permission denied; "
            "let this user into the group that owns it, often dialout, and sign in again",
        ),
        (
            errno.EIO,
            "nothing is connected to it; check that the scale is plugged in and the path is right",
        ),
        (
            errno.EMFILE,
            "cannot be opened ([Errno 24] no port); "
            "check that the scale is plugged in and the path is right",
        ),
    ],
)
async def test_refusals_that_need_a_cause_of_their_own(
    serial_line: SerialLine, monkeypatch: pytest.MonkeyPatch, cause: int, reason: str
) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise serial.SerialException(cause, "no port")

    monkeypatch.setattr(serial, "Serial", refuse)
    with pytest.raises(LinkRefused) as caught:
        await open_serial_link(serial_line.device, LineSettings())
    assert str(caught.value) == f"{serial_line.device}: {reason}"


@pytest.mark.parametrize(
    "settings",
    [
        LineSettings(framing="9N1"),
        LineSettings(framing="8n1"),
        LineSettings(framing=""),
        LineSettings(baud=0),
        LineSettings(baud=-9600),
        LineSettings(baud=2**40),
    ],
)
async def test_settings_that_no_line_can_have_are_refused(
    serial_line: SerialLine, settings: LineSettings
) -> None:
    with pytest.raises(LinkRefused) as caught:
        await open_serial_link(serial_line.device, settings)
    assert str(caught.value) == (
        f"{serial_line.device}: cannot be set to {settings.baud} baud, {settings.framing}; "
        "give what the scale is set to, such as 9600 baud and 8N1"
    )


@pytest.mark.parametrize(
    ("settings", "set_to"),
    [
        (LineSettings(), (9600, 8, "N", 1)),
        (LineSettings(115200, "7E2"), (115200, 7, "E", 2)),
        (LineSettings(12345, "5O1.5"), (12345, 5, "O", 1.5)),
    ],
)
async def test_the_line_is_set_as_asked(
    serial_line: SerialLine, settings: LineSettings, set_to: tuple[int, int, str, float]
) -> None:
    link = await open_serial_link(serial_line.device, settings)
    port = link._port
    assert (port.baudrate, port.bytesize, port.parity, port.stopbits) == set_to
    await link.close()


async def test_no_descriptor_is_left_over_many_openings_and_unpluggings(
    serial_line: SerialLine,
) -> None:
    link = await open_serial_link(serial_line.device, LineSettings())
    await link.close()
    before = descriptors()
    for cycle in range(100):
        link = await open_serial_link(serial_line.device, LineSettings())
        if cycle % 2:
            serial_line.unplug()
            with pytest.raises(LinkLost):
                await link.read()
            serial_line.plug()
        await link.close()
        await link.close()
        with pytest.raises(LinkRefused):
            await open_serial_link("/dev/null", LineSettings())
    assert descriptors() == before


async def test_a_cancelled_opening_leaves_nothing_open(
    serial_line: SerialLine, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, go_on, closed = threading.Event(), threading.Event(), threading.Event()

    class SlowSerial(serial.Serial):
        def open(self) -> None:
            begun.set()
            assert go_on.wait(60)
            super().open()

        def close(self) -> None:
            super().close()
            closed.set()

    with monkeypatch.context() as slow:
        slow.setattr(serial, "Serial", SlowSerial)
        async with asyncio.TaskGroup() as tasks:
            opening = tasks.create_task(open_serial_link(serial_line.device, LineSettings()))
            assert await asyncio.to_thread(begun.wait, 60)
            opening.cancel()
    go_on.set()
    assert await asyncio.to_thread(closed.wait, 60)
    link = await open_serial_link(serial_line.device, LineSettings())
    await link.close()
