"""A USB HID device as a link, over Linux hidraw.

A link is a stream of bytes and a HID device sends reports, which mean nothing without its report
descriptor: the stream is packets, the descriptor first and then each report.

====  ==============================================
0     ``D`` descriptor, ``R`` report
1-2   length of what follows, little-endian
3-    the descriptor, or the report as the device sends it
====  ==============================================

Linux, Documentation/hid/hidraw.rst.
"""

from __future__ import annotations

import asyncio
import errno
import fcntl
import os
import struct
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Final

from drivers.hid_descriptor import LONGEST
from drivers.hid_name import hid_path, lasting_hid_name
from drivers.hid_report import weighing_report
from drivers.readiness import Readiness
from scaled.core.errors import LinkAbsent, LinkBusy, LinkLost, LinkRefused
from scaled.protocol import Device

if TYPE_CHECKING:
    from scaled.protocol import LineSettings

DESCRIPTOR, REPORT = b"D", b"R"
HEADER: Final = struct.Struct("<cH")

_GET_DESCRIPTOR_SIZE: Final = 0x80044801
_GET_DESCRIPTOR: Final = 0x90044802
"""Requests of linux/hidraw.h: HIDIOCGRDESCSIZE, HIDIOCGRDESC."""

_PLUG: Final = "check that the scale is plugged in and the path is right"
_NOT_HID: Final = ("not a HID device", "name the scale's own, such as /dev/hidraw0")
_DENIED: Final = (
    "permission denied",
    "let this user read it with a udev rule for the hidraw subsystem, and plug it in again",
)
_ABSENT: Final = ("does not exist", _PLUG)
_BUSY: Final = ("busy", "close the other program that has it open")
_REFUSALS: Final = {
    errno.ENOENT: _ABSENT,
    errno.ENODEV: _ABSENT,
    errno.EACCES: _DENIED,
    errno.EPERM: _DENIED,
    errno.EWOULDBLOCK: _BUSY,
    errno.ENOTTY: _NOT_HID,
    errno.EINVAL: _NOT_HID,
    errno.EISDIR: _NOT_HID,
    errno.ENXIO: _NOT_HID,
}
_KINDS: Final = {_ABSENT[0]: LinkAbsent, _BUSY[0]: LinkBusy}


def packet(kind: bytes, content: bytes) -> bytes:
    """One packet of the stream."""
    return HEADER.pack(kind, len(content)) + content


async def open_hid_link(device: str, _: LineSettings) -> HidLink:
    """Open ``/dev/hidrawN`` or ``usb:NAME`` for this program alone; there is no line to set.

    Raises:
        LinkRefused: It does not exist, is busy, is not ours to open or does not weigh.
    """
    return HidLink(device, *await asyncio.to_thread(_open, device))


class HidLink:
    """An open HID device; see :class:`scaled.protocol.Link`."""

    step_g: float | None = None

    def __init__(self, device: str, descriptor: int, description: bytes) -> None:
        """Take over an open device.

        Args:
            device: Its name in errors.
            descriptor: The open file's, set not to block; one read gives one report.
            description: The device's report descriptor.
        """
        self._device = device
        self._descriptor: int | None = descriptor
        self._readiness = Readiness(descriptor)
        self._first = packet(DESCRIPTOR, description)

    async def read(self) -> bytes:
        """The next packet; raises LinkLost."""
        if self._first:
            first, self._first = self._first, b""
            return first
        while True:
            self._opened()
            await self._readiness.wait()
            with suppress(BlockingIOError):
                return packet(REPORT, self._report())

    async def write(self, data: bytes) -> None:
        """Nothing: such a scale is not asked; raises LinkLost."""
        del data
        self._opened()

    async def close(self) -> None:
        """Let the device go; calling it again does nothing."""
        self._readiness.wake()
        descriptor, self._descriptor = self._descriptor, None
        if descriptor is not None:
            os.close(descriptor)

    def _opened(self) -> int:
        if self._descriptor is None:
            raise self._loss()
        return self._descriptor

    def _report(self) -> bytes:
        try:
            report = os.read(self._opened(), LONGEST)
        except BlockingIOError:
            raise
        except OSError as err:
            raise self._loss() from err
        if not report:
            raise self._loss()
        return report

    def _loss(self) -> LinkLost:
        return LinkLost(self._device, "the device went away", "check its cable and its power")


def _open(device: str) -> tuple[int, bytes]:
    path = hid_path(device)
    try:
        descriptor = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC | os.O_NOCTTY)
    except OSError as err:
        raise _refusal(device, err) from err
    try:
        return descriptor, _weighing_description(device, descriptor)
    except OSError as err:
        os.close(descriptor)
        raise _refusal(device, err) from err
    except LinkRefused:
        os.close(descriptor)
        raise


def _weighing_description(device: str, descriptor: int) -> bytes:
    fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    description = _description(descriptor)
    if weighing_report(description) is None:
        raise LinkRefused(device, "a HID device, but it does not weigh", _NOT_HID[1])
    return description


def _description(descriptor: int) -> bytes:
    size = struct.unpack("i", fcntl.ioctl(descriptor, _GET_DESCRIPTOR_SIZE, bytes(4)))[0]
    buffer = bytearray(struct.pack("I", size) + bytes(LONGEST))
    fcntl.ioctl(descriptor, _GET_DESCRIPTOR, buffer)
    return bytes(buffer[4 : 4 + size])


def _refusal(device: str, err: OSError) -> LinkRefused:
    unknown = (f"cannot be opened ({err.strerror})", _PLUG)
    reason, remedy = _REFUSALS.get(err.errno or 0, unknown)
    return _KINDS.get(reason, LinkRefused)(device, reason, remedy)


async def hid_devices_near(within_s: float) -> list[Device]:
    """The HID devices that weigh, as far as this user may open them."""
    del within_s
    return await asyncio.to_thread(_hid_devices)


def _hid_devices() -> list[Device]:
    paths = sorted(str(path) for path in Path("/dev").glob("hidraw*"))
    return [
        Device(lasting_hid_name(path), f"USB weighing device {path}")
        for path in paths
        if _weighs(path)
    ]


def _weighs(path: str) -> bool:
    try:
        os.close(_open(path)[0])
    except LinkRefused:
        return False
    return True
