"""A serial line as a link, over pyserial and the loop's own readiness events.

pyserial and the system report one unplugged line in four ways (an empty read, ``SerialException``,
``OSError`` EIO, ``termios.error``, which is not an ``OSError``); the two functions at the end are
the only place that knows.
"""

from __future__ import annotations

import asyncio
import errno
import os
import re
import stat
import termios
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Final

import serial

from drivers.ports import port_path
from drivers.readiness import Readiness
from scaled.core.errors import LinkAbsent, LinkBusy, LinkLost, LinkRefused

if TYPE_CHECKING:
    from collections.abc import Iterator

    from scaled.protocol import LineSettings

_CHUNK: Final = 4096
"""Bytes taken in one read; the kernel's own buffer for a line holds as many."""

_FASTEST_BAUD: Final = 4_000_000
"""The fastest speed the system has a name for (termios, B4000000)."""

_FRAMING: Final = re.compile(r"([5-8])([NEOMS])(1\.5|1|2)")


async def open_serial_link(device: str, settings: LineSettings) -> SerialLink:
    """Open a serial line, by its path or as ``usb:SERIAL``, for this program alone.

    Raises:
        LinkRefused: It does not exist, is busy, is not ours to open or is not a serial line, or
            the settings are none it can have.
    """
    # In a thread: a line over radio connects, and takes seconds, when it is opened. If the caller
    # is cancelled meanwhile, the port is closed as soon as nothing holds it any more.
    return SerialLink(device, await asyncio.to_thread(_open_port, device, settings))


class SerialLink:
    """An open serial line; see :class:`scaled.protocol.Link`.

    What was not read yet waits in the kernel's buffer, which is bounded.
    """

    step_g: float | None = None

    def __init__(self, device: str, port: serial.Serial) -> None:
        """Take over an open port, named in errors as ``device``."""
        self._device = device
        self._port = port
        self._readiness = Readiness(port.fileno())

    async def read(self) -> bytes:
        """The next bytes, at least one, in order; raises LinkLost."""
        while True:
            with _loss_reported(self._device):
                self._port.fileno()  # tells a closed port
            await self._readiness.wait()
            with _loss_reported(self._device):
                data: bytes = self._port.read(_CHUNK)
            if data:
                return data

    async def write(self, data: bytes) -> None:
        """Send bytes, dropping what the line does not take at once; raises LinkLost."""
        # Not through pyserial, which spins while a line set to never wait takes nothing.
        with _loss_reported(self._device), suppress(BlockingIOError):
            os.write(self._port.fileno(), data)

    async def close(self) -> None:
        """Let the line go; calling it again does nothing."""
        self._readiness.wake()
        with suppress(OSError, termios.error):  # gone lines and closed ports
            self._port.reset_output_buffer()  # or closing waits until all of it was sent
        self._port.close()


def _open_port(device: str, settings: LineSettings) -> serial.Serial:
    framing = _FRAMING.fullmatch(settings.framing)
    if framing is None or not 0 < settings.baud <= _FASTEST_BAUD:
        raise LinkRefused(
            device,
            f"cannot be set to {settings.baud} baud, {settings.framing}",
            "give what the scale is set to, such as 9600 baud and 8N1",
        )
    bits, parity, stop_bits = framing.groups()
    path = port_path(device)
    with _refusal_reported(device):
        if not stat.S_ISCHR(Path(path).stat().st_mode):
            raise OSError(errno.ENOTTY, os.strerror(errno.ENOTTY))
        return serial.Serial(
            path,
            baudrate=settings.baud,
            bytesize=int(bits),
            parity=parity,
            stopbits=float(stop_bits),
            timeout=0,
            exclusive=True,
        )


_PLUG: Final = "check that the scale is plugged in and the path is right"
_NOT_SERIAL: Final = ("not a serial line", "name the scale's own device, such as /dev/ttyUSB0")
_ABSENT: Final = ("does not exist", _PLUG)
_UNPLUGGED: Final = ("nothing is connected to it", _PLUG)
_BUSY: Final = ("busy", "close the other program that has it open")
_DENIED: Final = (
    "permission denied",
    "let this user into the group that owns it, often dialout, and sign in again",
)
_REFUSALS: Final = {
    errno.ENOTTY: _NOT_SERIAL,
    errno.ENOENT: _ABSENT,
    errno.ENOTDIR: _ABSENT,
    errno.ENXIO: _ABSENT,
    errno.ENODEV: _ABSENT,
    errno.EIO: _UNPLUGGED,
    errno.EBUSY: _BUSY,
    errno.EWOULDBLOCK: _BUSY,
    errno.EACCES: _DENIED,
    errno.EPERM: _DENIED,
}
_KINDS: Final = {_ABSENT[0]: LinkAbsent, _UNPLUGGED[0]: LinkAbsent, _BUSY[0]: LinkBusy}


@contextmanager
def _refusal_reported(device: str) -> Iterator[None]:
    try:
        yield
    except (OSError, termios.error, ValueError) as err:
        reason, remedy = _REFUSALS.get(_errno(err), (f"cannot be opened ({err})", _PLUG))
        kind = _KINDS.get(reason, LinkRefused)
        raise kind(device, reason, remedy) from err


def _errno(err: BaseException | None) -> int:
    """The system's error number, or 0; pyserial may hide it in the error it was handling."""
    if err is None:
        return 0
    number = err.args[0] if err.args else None
    return number if isinstance(number, int) else _errno(err.__context__)


@contextmanager
def _loss_reported(device: str) -> Iterator[None]:
    try:
        yield
    except (OSError, termios.error) as err:
        remedy = "check the cable, the adapter and the scale's power"
        raise LinkLost(device, "the line went away", remedy) from err
