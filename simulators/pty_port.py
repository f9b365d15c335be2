"""A pseudo-terminal as a scale's serial port, at a path that stays the same.

Modem lines, parity and speed are not modelled by a pseudo-terminal.
"""

from __future__ import annotations

import asyncio
import os
import select
import tty
from pathlib import Path
from types import MappingProxyType, TracebackType
from typing import Final, Self

from simulators.deed import Deed
from simulators.scale import PortError

_CHUNK: Final = 4096


class PtyPort:
    """One port; plugged in while its ``async with`` block runs, unless :meth:`unplug` is called.

    The symbolic link at :attr:`link` leads to the present pseudo-terminal: after a replug to
    another one, as with a real adapter.
    """

    def __init__(self, link: Path) -> None:
        self.link = link
        self._master: int | None = None
        self._terminal = ""
        self.deeds = MappingProxyType(
            {"unplug": Deed(self.unplug, rests=True), "plug": Deed(self.plug, rests=False)}
        )

    async def __aenter__(self) -> Self:
        """Plug in; raises PortError as :meth:`plug` does."""
        await self.plug()
        return self

    async def __aexit__(
        self,
        kind: type[BaseException] | None,
        err: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Unplug."""
        await self.unplug()

    async def plug(self) -> None:
        """Make a new pseudo-terminal and let the link lead to it; nothing when plugged in.

        Raises:
            PortError: The link cannot be made.
        """
        if self._master is None:
            try:
                self._master, self._terminal = await asyncio.to_thread(_plug, self.link)
            except OSError as err:
                raise PortError(err.strerror or str(err)) from err

    async def unplug(self) -> None:
        """Remove the link and hang up whoever has it open; nothing when unplugged."""
        if self._master is not None:
            master, self._master = self._master, None
            # First of all the link: what is opened next anywhere may have this one's number.
            try:
                await asyncio.to_thread(_remove_link, self.link, self._terminal)
            finally:
                os.close(master)

    @property
    def plugged(self) -> bool:
        """Whether it is plugged in."""
        return self._master is not None

    @property
    def opened(self) -> bool:
        """Whether anybody has the other end open."""
        if self._master is None:
            return False
        ready = select.poll()
        ready.register(self._master, 0)  # a hang-up is always reported
        return not ready.poll(0)

    def write(self, data: bytes) -> None:
        """Send bytes to whoever listens; what does not fit is lost, as on a real line."""
        if self._master is not None and self.opened:
            try:
                os.write(self._master, data)
            except OSError:  # opened but not read, or closed this very moment
                return

    def read(self) -> bytes:
        """Bytes the other end sent, up to 4096; none when there are none."""
        if self._master is None or not self.opened:
            return b""
        try:
            return os.read(self._master, _CHUNK)
        except OSError:  # nothing there, or closed this very moment
            return b""


def _plug(link: Path) -> tuple[int, str]:
    """Make a raw pseudo-terminal with a link to it; its master end and the slave's path."""
    if link.exists():  # a dead link is not in the way
        raise PortError("in use; stop what uses it, or choose another path")
    master, slave = os.openpty()
    try:
        tty.setraw(slave)
        os.set_blocking(master, False)
        terminal = os.ttyname(slave)
        _lead(link, terminal)
    except BaseException:
        os.close(master)
        raise
    finally:
        os.close(slave)  # or a hang-up of the last listener would not be seen
    return master, terminal


def _lead(link: Path, terminal: str) -> None:
    """Let the link lead there, replacing a dead one in a single move."""
    fresh = link.with_name(f".{link.name}.{os.getpid()}")
    fresh.unlink(missing_ok=True)
    fresh.symlink_to(terminal)
    try:
        fresh.replace(link)
    except OSError:
        fresh.unlink()
        raise


def _remove_link(link: Path, terminal: str) -> None:
    if link.is_symlink() and str(link.readlink()) == terminal:  # not another's by now
        link.unlink()
