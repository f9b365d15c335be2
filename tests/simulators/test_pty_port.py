from __future__ import annotations

import asyncio
import os
import termios
from pathlib import Path

import pytest
import serial

from simulators.pty_port import PtyPort
from simulators.scale import PortError


def opened(path: Path) -> serial.Serial:
    return serial.Serial(str(path), timeout=2, exclusive=True)


def entries(folder: Path) -> list[Path]:
    return list(folder.iterdir())


async def open_serial(path: Path) -> serial.Serial:
    return await asyncio.to_thread(opened, path)


async def test_carries_bytes_both_ways(tmp_path: Path) -> None:
    async with PtyPort(tmp_path / "scale") as port:
        with await open_serial(port.link) as line:
            port.write(b"ST\r\n\x00\xff\x03\n")
            assert await asyncio.to_thread(line.read, 8) == b"ST\r\n\x00\xff\x03\n"
            await asyncio.to_thread(line.write, b"R\r\n\x04")
            assert port.read() == b"R\r\n\x04"
            assert port.read() == b""


async def test_knows_whether_somebody_listens(tmp_path: Path) -> None:
    async with PtyPort(tmp_path / "scale") as port:
        heard = [port.opened]
        for _ in range(2):
            with await open_serial(port.link):
                heard.append(port.opened)
            heard.append(port.opened)
        await port.unplug()
        heard.append(port.opened)
    assert heard == [False, True, False, True, False, False]


async def test_stays_raw_from_one_listener_to_the_next(tmp_path: Path) -> None:
    async with PtyPort(tmp_path / "scale") as port:
        for _ in range(2):
            descriptor = await asyncio.to_thread(os.open, port.link, os.O_RDWR | os.O_NOCTTY)
            local_flags = termios.tcgetattr(descriptor)[3]
            os.close(descriptor)
            assert not local_flags & (termios.ICANON | termios.ECHO)


async def test_what_nobody_hears_is_lost(tmp_path: Path) -> None:
    async with PtyPort(tmp_path / "scale") as port:
        port.write(b"early\r\n")
        with await open_serial(port.link) as line:
            port.write(b"now\r\n")
            assert await asyncio.to_thread(line.readline) == b"now\r\n"


async def test_never_waits_for_a_listener_that_does_not_read(tmp_path: Path) -> None:
    async with PtyPort(tmp_path / "scale") as port:
        with await open_serial(port.link) as line:
            for _ in range(2000):
                port.write(b"ST,GR,+00123.50  g\r\n")
            assert 0 < line.in_waiting < 2000 * 20


async def test_unplugging_hangs_up_and_plugging_in_finds_the_same_path(tmp_path: Path) -> None:
    async with PtyPort(tmp_path / "scale") as port:
        with await open_serial(port.link) as line:
            await port.unplug()
            with pytest.raises(serial.SerialException):
                await asyncio.to_thread(line.read)
        assert not port.plugged
        assert entries(tmp_path) == []
        port.write(b"unheard")
        assert port.read() == b""
        await port.plug()
        with await open_serial(port.link) as line:
            port.write(b"back\r\n")
            assert await asyncio.to_thread(line.readline) == b"back\r\n"
    assert entries(tmp_path) == []


async def test_plugging_twice_is_plugging_once(tmp_path: Path) -> None:
    async with PtyPort(tmp_path / "scale") as port:
        terminal = port.link.readlink()
        await port.plug()
        assert port.link.readlink() == terminal
        await port.unplug()
        await port.unplug()
        assert not port.plugged


async def test_replaces_a_dead_link_but_nothing_in_use(tmp_path: Path) -> None:
    link = tmp_path / "scale"
    link.symlink_to(tmp_path / "gone")
    async with PtyPort(link):
        assert link.readlink().is_char_device()
        with pytest.raises(PortError, match="in use"):
            await PtyPort(link).plug()
    (tmp_path / "notes").write_text("mine")
    with pytest.raises(PortError, match="in use"):
        await PtyPort(tmp_path / "notes").plug()
    assert (tmp_path / "notes").read_text() == "mine"


async def test_says_why_the_link_cannot_be_made(tmp_path: Path) -> None:
    with pytest.raises(PortError, match="No such file or directory"):
        await PtyPort(tmp_path / "missing" / "scale").plug()


async def test_leaves_another_ports_link_alone(tmp_path: Path) -> None:
    link = tmp_path / "scale"
    async with PtyPort(link):
        link.unlink()
        link.symlink_to("/dev/null")
    assert link.readlink() == Path("/dev/null")
