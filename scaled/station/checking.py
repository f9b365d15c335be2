"""Makes a check of a scale over its link, and says what to do meanwhile."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, TypeAlias

from scaled.core.errors import only_error
from scaled.core.reading import Reading
from scaled.station.check_run import CheckRun
from scaled.station.link import LinkState, LinkStatus, reached
from scaled.station.scale_link import ScaleLink
from scaled.station.stream_time import StreamTime

if TYPE_CHECKING:
    from collections.abc import Callable

    from scaled.protocol import Driver
    from scaled.station.check_plan import CheckPlan
    from scaled.station.check_run import CheckingState

Tell: TypeAlias = "Callable[[CheckingState | LinkStatus], None]"
"""Told what is to be done, once each time that changes, and what the link lacks."""


async def make_check(
    plan: CheckPlan, driver: Driver, tell: Tell, clock: Callable[[], float]
) -> CheckRun:
    """Follow the scale until all of the check is done; a lost line is waited for.

    Args:
        plan: What is to be done, and at which scale.
        driver: Of its wire format.
        tell: Called in the loop; must not wait.
        clock: Seconds from any origin, never backwards.

    Raises:
        LinkRefused: The line cannot be opened.
    """
    time = StreamTime(clock)
    link = ScaleLink(driver, reached(plan.station, driver), time.now)
    check = _Check(CheckRun(plan), time, tell)
    await link.open()
    try:
        async with asyncio.TaskGroup() as tasks:
            following = tasks.create_task(link.run(check.hear))
            await check.done.wait()
            following.cancel()
    except BaseExceptionGroup as group:
        raise only_error(group) from group
    finally:
        await link.close()
    return check.run


class _Check:
    """One check at one link."""

    def __init__(self, run: CheckRun, time: StreamTime, tell: Tell) -> None:
        self.run = run
        self.done = asyncio.Event()
        self._time = time
        self._tell = tell
        self._told: object = None

    async def hear(self, heard: Reading | LinkStatus) -> None:
        """Take what the link gives."""
        if isinstance(heard, Reading):
            self.run.read(self._time.stamped(heard))
            self._lead()
        elif heard.state not in {LinkState.OPENING, LinkState.LIVE}:
            self._told = None  # said again once it is back
            self._tell(heard)

    def _lead(self) -> None:
        state = self.run.state
        if self.run.over:
            self.done.set()
        elif state.asked != self._told:
            self._told = state.asked
            self._tell(state)
