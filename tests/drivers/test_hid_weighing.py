"""HID weighing devices: by their own report descriptor, on a real descriptor-like socket.

The report bytes follow the USB-IF HID Point of Sale Usage Tables 1.02, page 0x8D; the descriptors
are written here from the item tables of the Device Class Definition for HID 1.11, 6.2.2.
"""

from __future__ import annotations

import asyncio
import fcntl
import os
import socket
import struct
from typing import TYPE_CHECKING

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from drivers.hid_descriptor import input_fields
from drivers.hid_link import HidLink, open_hid_link, packet
from drivers.hid_weighing import DRIVER
from scaled.core.errors import LinkBusy, LinkLost, LinkRefused
from scaled.core.reading import Reading, Unit
from scaled.protocol import Frame, LineSettings, Notice, NoticeKind

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

COMMON = bytes.fromhex(
    "05 8D 09 20 A1 01"  # page 0x8D, scale device, application
    "85 03 09 32 A1 02"  # report 3: scale data report
    "09 70 A1 02 19 71 29 78 15 01 25 08 75 08 95 01 81 00 C0"  # status 1-8, an array
    "09 50 A1 02 19 51 29 5C 15 01 25 0C 75 08 95 01 81 00 C0"  # unit 1-12, an array
    "09 41 15 81 25 7F 75 08 95 01 81 02"  # scaling, signed
    "09 40 15 00 27 FF FF 00 00 75 10 95 01 81 02"  # weight, 16 bits unsigned
    "C0"
    "85 04 09 33 A1 02 09 60 75 08 95 01 81 02 C0"  # report 4: another one
    "C0"
)
FLAGS = bytes.fromhex(
    "05 8D 09 20 A1 01 09 32 A1 02"
    "09 40 16 00 80 26 FF 7F 75 10 95 01 66 01 01 55 0F 81 02"  # first the weight: signed, 0.1 g
    "15 00 25 01 75 01 09 73 09 74 95 02 81 02"  # a bit in motion, a bit stable
    "75 06 95 01 81 03"  # padding
    "C0 C0"
)
MOUSE = bytes.fromhex("05 01 09 02 A1 01 09 30 15 81 25 7F 75 08 95 01 81 06 C0")


def said(report: bytes, descriptor: bytes = COMMON) -> list[Frame]:
    return DRIVER.decoder().feed(packet(b"D", descriptor) + packet(b"R", report), 2.5)


@pytest.mark.parametrize(
    ("report", "frame"),
    [
        ("03 04 0B FF 7B 00", Reading(2.5, 12.3, Unit.OZ, stable=True)),
        ("03 04 02 00 71 00", Reading(2.5, 113.0, Unit.G, stable=True)),
        ("03 03 02 00 71 00", Reading(2.5, 113.0, Unit.G, stable=False)),
        ("03 05 02 00 05 00", Reading(2.5, -5.0, Unit.G, stable=None)),
        ("03 02 02 00 00 00", Reading(2.5, 0.0, Unit.G, stable=True)),
        ("03 06 02 00 00 00", Notice(2.5, NoticeKind.OVERLOAD)),
        ("03 08 02 00 00 00", Notice(2.5, NoticeKind.UNDERLOAD)),
        ("03 01 02 00 71 00", Notice(2.5, NoticeKind.FAULT)),
        ("03 07 02 00 71 00", Notice(2.5, NoticeKind.FAULT)),  # requires calibration
        ("03 04 0C FE 19 00", Reading(2.5, 0.25, Unit.LB, stable=True)),
        ("03 04 03 FD D2 04", Reading(2.5, 1.234, Unit.KG, stable=True)),
        ("03 04 01 03 71 00", Reading(2.5, 113.0, Unit.G, stable=True)),
        ("03 04 08 FD 01 00", Reading(2.5, 1.0, Unit.KG, stable=True)),
    ],
)
def test_reads_the_common_report(report: str, frame: Frame) -> None:
    assert said(bytes.fromhex(report)) == [frame]


@pytest.mark.parametrize(
    "report",
    [
        "03 04 04 00 71 00",  # carat
        "03 04 00 00 71 00",  # no unit
        "03 04 0D 00 71 00",  # no such unit
        "03 04 02 00 71",
        "03",
        "03 04 03 04 71 00",  # 1130 t
        "03 04 02 7F 71 00",
    ],
)
def test_what_shows_no_weight_is_counted(report: str) -> None:
    decoder = DRIVER.decoder()
    frames = decoder.feed(packet(b"D", COMMON) + packet(b"R", bytes.fromhex(report)), 2.5)
    assert (frames, decoder.dropped) == ([], 1)


def test_other_reports_of_the_device_are_left_out() -> None:
    decoder = DRIVER.decoder()
    assert decoder.feed(packet(b"D", COMMON) + packet(b"R", b"\x04\x07"), 2.5) == []
    assert decoder.dropped == 0


@pytest.mark.parametrize(
    ("report", "weight", "stable"),
    [("D3 04 02", 123.5, True), ("2D FB 01", -123.5, False), ("00 00 00", 0.0, None)],
)
def test_reads_another_order_with_flags_and_the_fields_own_unit(
    report: str, weight: float, stable: bool | None
) -> None:
    assert said(bytes.fromhex(report), FLAGS) == [Reading(2.5, weight, Unit.G, stable)]


def test_a_descriptor_that_does_not_weigh_is_counted_and_its_reports_too() -> None:
    decoder = DRIVER.decoder()
    assert decoder.feed(packet(b"D", MOUSE) + packet(b"R", b"\x01"), 2.5) == []
    assert decoder.dropped == 2


@given(st.binary(max_size=80), st.binary(max_size=12))
def test_no_descriptor_and_no_report_hurts(descriptor: bytes, report: bytes) -> None:
    for described in (descriptor, COMMON[: len(descriptor)] + descriptor, COMMON + descriptor):
        input_fields(described)
        said(report or b"\0", described or b"\0")


@example(places=[2], changed=[134])
@given(
    st.lists(st.integers(0, len(COMMON) - 1), min_size=4, max_size=4),
    st.lists(st.integers(0, 255), min_size=4, max_size=4),
)
def test_a_damaged_descriptor_gives_finite_weights_or_none(
    places: list[int], changed: list[int]
) -> None:
    damaged = bytearray(COMMON)
    for place, byte in zip(places, changed, strict=True):
        damaged[place] = byte
    for frame in said(bytes.fromhex("03 04 0B FF 7B 00"), bytes(damaged)):
        assert isinstance(frame, Notice) or abs(frame.weight) <= 1e6


@given(st.lists(st.binary(max_size=20), max_size=6), st.data())
def test_how_the_packets_are_cut_makes_no_difference(
    noises: list[bytes], data: st.DataObject
) -> None:
    report = packet(b"R", bytes.fromhex("03 04 02 00 71 00"))
    stream = packet(b"D", COMMON) + b"".join(noise + report for noise in noises)
    place = data.draw(st.integers(0, len(stream)))
    results = []
    for pieces in ([stream], [stream[:place], stream[place:]], [bytes([b]) for b in stream]):
        decoder = DRIVER.decoder()
        frames = [frame for piece in pieces for frame in decoder.feed(piece, 0.0)]
        results.append((frames, decoder.dropped))
    assert results[0] == results[1] == results[2]


@pytest.fixture
def node() -> Iterator[tuple[int, socket.socket]]:
    """What stands in for a hidraw node: it keeps reports apart, as a node does."""
    ours, device = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
    ours.setblocking(False)
    yield ours.detach(), device
    device.close()


async def test_a_link_gives_the_descriptor_first_and_then_each_report(
    node: tuple[int, socket.socket],
) -> None:
    descriptor, device = node
    link = HidLink("/dev/hidraw0", descriptor, COMMON)
    decoder = DRIVER.decoder()
    assert decoder.feed(await link.read(), 0.0) == []
    for grams in (113, 114):
        device.send(bytes.fromhex("03 04 02 00") + struct.pack("<H", grams))
    frames = [frame for _ in range(2) for frame in decoder.feed(await link.read(), 1.0)]
    assert frames == [Reading(1.0, grams, Unit.G, stable=True) for grams in (113, 114)]
    await link.write(b"ignored")
    asyncio.get_running_loop().call_soon(device.close)
    with pytest.raises(LinkLost) as caught:
        await link.read()
    assert str(caught.value) == (
        "/dev/hidraw0: the device went away; check its cable and its power"
    )
    await link.close()
    await link.close()


async def test_closing_ends_a_waiting_read(node: tuple[int, socket.socket]) -> None:
    link = HidLink("/dev/hidraw0", node[0], COMMON)
    await link.read()
    async with asyncio.TaskGroup() as tasks:
        tasks.create_task(link.close())
        with pytest.raises(LinkLost):
            await link.read()
    with pytest.raises(LinkLost):
        await link.write(b"R")


async def test_what_is_no_hid_device_is_refused_in_one_line(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    not_hid = "not a HID device; name the scale's own, such as /dev/hidraw0"
    absent = "does not exist; check that the scale is plugged in and the path is right"
    for path, reason in (
        (str(tmp_path / "missing"), absent),
        (str(tmp_path / "file"), not_hid),
        (str(tmp_path), not_hid),
        ("/dev/null", not_hid),
    ):
        with pytest.raises(LinkRefused) as caught:
            await open_hid_link(path, LineSettings())
        assert str(caught.value) == f"{path}: {reason}"


class Kernel:
    """Answers hidraw's two requests as linux/hidraw.h lays them out, for a plain file."""

    def __init__(self, descriptor: bytes) -> None:
        self.descriptor = descriptor

    def ioctl(self, _: int, request: int, argument: bytes | bytearray) -> bytes | int:
        if request == 0x80044801:
            return struct.pack("i", len(self.descriptor))
        assert request == 0x90044802
        assert isinstance(argument, bytearray)
        assert len(argument) == 4100
        (size,) = struct.unpack_from("I", argument)
        argument[4 : 4 + size] = self.descriptor[:size]
        return 0


async def test_a_node_is_asked_for_its_descriptor_and_is_ours_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "hidraw0"
    path.touch()
    monkeypatch.setattr(fcntl, "ioctl", Kernel(COMMON).ioctl)
    link = await open_hid_link(str(path), LineSettings())
    assert await link.read() == packet(b"D", COMMON)
    with pytest.raises(LinkBusy, match="busy; close the other program"):
        await open_hid_link(str(path), LineSettings())
    await link.close()
    monkeypatch.setattr(fcntl, "ioctl", Kernel(MOUSE).ioctl)
    with pytest.raises(LinkRefused, match="a HID device, but it does not weigh"):
        await open_hid_link(str(path), LineSettings())


async def test_a_node_of_another_user_says_what_to_do(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def denied(*_: object) -> int:
        raise PermissionError(13, os.strerror(13))

    monkeypatch.setattr(os, "open", denied)
    with pytest.raises(LinkRefused, match="permission denied; let this user read it with a udev"):
        await open_hid_link(str(tmp_path / "hidraw0"), LineSettings())
