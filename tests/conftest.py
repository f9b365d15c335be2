"""What every test runs under: nothing of ours blocks the loop, nothing is left behind."""

from __future__ import annotations

import asyncio
import fcntl
import gc
import inspect
import os
import threading
import tty
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from blockbuster import blockbuster_ctx
from hypothesis import HealthCheck, settings

if TYPE_CHECKING:
    from collections.abc import AsyncIterator, Iterator

    from tests.air import Air

# A busy machine is slow, not wrong.
settings.register_profile("unhurried", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("unhurried")


class SerialLine:
    """A scale's end of a serial line: a pseudo-terminal that can be unplugged and replugged.

    ``device`` is a link that leads to the present pseudo-terminal, while there is one.
    """

    def __init__(self, device: Path) -> None:
        self.device = str(device)
        self.scale_end = self._far_end = -1

    def plug(self, *, taken: bool = False) -> None:
        """Plug it in; where it is to be taken, nobody can have opened it before."""
        self.scale_end, self._far_end = os.openpty()
        tty.setraw(self._far_end)
        if taken:
            self.take()
        new = Path(self.device + ".new")
        new.symlink_to(os.ttyname(self._far_end))
        new.replace(self.device)

    def unplug(self) -> None:
        if self.scale_end >= 0:
            # First of all the link: another test's terminal may have this one's number next.
            Path(self.device).unlink()
            os.close(self.scale_end)
            os.close(self._far_end)
            self.scale_end = self._far_end = -1

    def take(self) -> None:
        """Have it for itself, as another program may that has it open."""
        fcntl.flock(self._far_end, fcntl.LOCK_EX | fcntl.LOCK_NB)

    def let_go(self) -> None:
        fcntl.flock(self._far_end, fcntl.LOCK_UN)

    def say(self, data: bytes) -> None:
        assert os.write(self.scale_end, data) == len(data)


@pytest.fixture
def serial_line(tmp_path: Path) -> Iterator[SerialLine]:
    """A serial line with a scale at its end that says what it is told to."""
    line = SerialLine(tmp_path / "scale")
    line.plug()
    yield line
    line.unplug()


@pytest.fixture
async def air(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> AsyncIterator[Air]:
    """A radio with nothing on the air yet."""
    from tests.air import on_air  # noqa: PLC0415 -- bleak is slow to load

    async with on_air(tmp_path, monkeypatch) as around:
        yield around


@pytest.fixture(autouse=True)
def nothing_left_open() -> Iterator[None]:
    """No thread and no descriptor outlives a test and its loop."""
    threads, descriptors = set(threading.enumerate()), open_descriptors()
    yield
    new = [thread for thread in threading.enumerate() if thread not in threads]
    for thread in new:
        thread.join(timeout=20)  # one that was told to end may need a moment
    left = [thread.name for thread in new if thread.is_alive()]
    assert not left, f"threads left behind: {left}"
    if open_descriptors() - descriptors:
        gc.collect()
    leaked = {descriptor: named(descriptor) for descriptor in open_descriptors() - descriptors}
    assert not leaked, f"descriptors left open: {leaked}"


@pytest.fixture(autouse=True)
def nothing_left_running(request: pytest.FixtureRequest, nothing_left_open: None) -> None:
    """No task outlives an async test."""
    if inspect.iscoroutinefunction(request.function):
        request.getfixturevalue("no_task_left")


@pytest.fixture
async def no_task_left() -> AsyncIterator[None]:
    """Asked for by ``nothing_left_running`` where there is a loop."""
    yield
    left = asyncio.all_tasks() - {asyncio.current_task()}
    assert not left, f"tasks left behind: {left}"


@pytest.fixture(autouse=True)
def nothing_blocks_the_loop() -> Iterator[None]:
    """A blocking call made by our code while a loop runs in that thread fails the test."""
    with blockbuster_ctx(["scaled", "drivers", "simulators"]):
        yield


def open_descriptors() -> set[str]:
    # The listing's own descriptor is in it and is closed by now.
    return {name for name in os.listdir("/proc/self/fd") if named(name)}  # noqa: PTH208


def named(descriptor: str) -> str:
    try:
        return os.readlink(f"/proc/self/fd/{descriptor}")  # noqa: PTH115
    except FileNotFoundError:
        return ""
