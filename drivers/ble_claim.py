"""One program of ours at a Bluetooth scale at a time.

The system lets programs share a connection, and whichever ends it ends it for all. So each claims
the scale's address by a lock on a file, which the system lets go of with the program that has it.
"""

from __future__ import annotations

import fcntl
import os
import tempfile
from contextlib import suppress
from pathlib import Path
from typing import Final
from zlib import crc32

from scaled.core.errors import LinkBusy

_BUS: Final = "DBUS_SYSTEM_BUS_ADDRESS"
"""Names the system's bus, and so the radio, where it is not the usual one."""


class Claim:
    """A claim on one address at this machine's radio; blocking, but never for long.

    Where no lock can be had, as in a folder that is not to be written to, there is none to heed.
    """

    def __init__(self, address: str, folder: Path | None = None) -> None:
        """Nothing is claimed yet.

        Args:
            address: The scale's.
            folder: Where all programs of this machine look; by default the one for such files.
        """
        self._address = address
        self._folder = folder
        self._path = Path()
        self._file: int | None = None
        self._over = False

    def take(self) -> None:
        """Claim the address; nothing once it was given up, as by whoever is cancelled meanwhile.

        Raises:
            LinkBusy: Another program has it, or this one already.
        """
        radio = crc32(os.environ.get(_BUS, "").encode())
        name = f"scaled-{self._address.upper().replace(':', '')}-{radio:08x}.lock"
        self._path = (self._folder or Path(tempfile.gettempdir())) / name
        try:
            self._file = _locked(self._path)
        except BlockingIOError as err:
            remedy = "close the other program that has it open"
            raise LinkBusy(self._address, "busy", remedy) from err
        if self._over:
            self.release()

    def release(self) -> None:
        """Give it up; calling it again does nothing."""
        self._over = True
        file, self._file = self._file, None
        if file is not None:
            with suppress(OSError):  # another user's
                self._path.unlink()
            os.close(file)


def _locked(path: Path) -> int | None:
    """A lock on a file; None when there can be none; raises BlockingIOError when it is taken."""
    while (file := _opened(path)) is not None:
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            if os.fstat(file).st_nlink:  # else whoever had it has just taken it away
                return file
        except BlockingIOError:
            os.close(file)
            raise
        os.close(file)
    return None


def _opened(path: Path) -> int | None:
    for flags in (os.O_RDONLY | os.O_CREAT, os.O_RDONLY):  # another user's may not be created
        with suppress(OSError):
            return os.open(path, flags | os.O_CLOEXEC, 0o644)
    return None
