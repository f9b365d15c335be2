"""Serial ports by the serial number of their adapter; the system's list is made up, as a
pseudo-terminal is in none."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from serial.tools.list_ports_common import ListPortInfo

from drivers import ports
from drivers.serial_link import open_serial_link
from scaled.core.errors import LinkRefused
from scaled.protocol import Device, LineSettings

if TYPE_CHECKING:
    from pathlib import Path

    from tests.conftest import SerialLine


def plugged(monkeypatch: pytest.MonkeyPatch, *adapters: tuple[str, str | None]) -> None:
    infos = []
    for path, number in adapters:
        info = ListPortInfo(path)
        info.serial_number = number
        infos.append(info)
    monkeypatch.setattr(ports, "comports", lambda: infos)


async def test_the_same_adapter_is_opened_wherever_it_is(
    serial_line: SerialLine, monkeypatch: pytest.MonkeyPatch
) -> None:
    plugged(monkeypatch, ("/dev/none0", "B2"), (serial_line.device, "A1"))
    link = await open_serial_link("usb:A1", LineSettings())
    serial_line.say(b"hello")
    assert await link.read() == b"hello"
    await link.close()


async def test_one_that_is_not_there_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    plugged(monkeypatch, ("/dev/none0", "B2"), ("/dev/none1", None))
    for name in ("usb:A1", "usb:"):
        with pytest.raises(LinkRefused) as caught:
            await open_serial_link(name, LineSettings())
        assert str(caught.value) == (
            f"{name}: no adapter with this serial number is plugged in; "
            "plug it in, or see what is there with: scaled scale find"
        )


async def test_two_with_one_number_are_not_guessed(monkeypatch: pytest.MonkeyPatch) -> None:
    plugged(monkeypatch, ("/dev/none1", "0001"), ("/dev/none0", "0001"))
    with pytest.raises(LinkRefused, match=r"several ports .*: /dev/none0, /dev/none1"):
        await open_serial_link("usb:0001", LineSettings())


async def test_one_without_a_number_is_listed_by_its_socket(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "ttyUSB0").touch()
    (tmp_path / "by-path").mkdir()
    (tmp_path / "by-path" / "usb-left").symlink_to(tmp_path / "ttyUSB0")
    monkeypatch.setattr(ports, "BY_PATH", tmp_path / "by-path")
    plugged(monkeypatch, (f"{tmp_path}/ttyUSB0", None))
    assert await ports.serial_ports(0.0) == [
        Device(f"{tmp_path}/by-path/usb-left", f"serial port {tmp_path}/ttyUSB0")
    ]


async def test_ports_are_listed_by_names_that_stay(monkeypatch: pytest.MonkeyPatch) -> None:
    plugged(monkeypatch, ("/dev/n0", "A1"), ("/dev/n1", None), ("/dev/n2", "X"), ("/dev/n3", "X"))
    assert await ports.serial_ports(0.0) == [
        Device("usb:A1", "serial port /dev/n0"),
        Device("/dev/n1", "serial port /dev/n1"),
        Device("/dev/n2", "serial port /dev/n2"),
        Device("/dev/n3", "serial port /dev/n3"),
    ]
