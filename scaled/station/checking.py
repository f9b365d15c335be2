"""Makes a check of a scale over its link, and says what to do meanwhile."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, TypeAlias

from scaled.core.errors import only_error
from scaled.core.load_asked import Asked
from scaled.core.reading import Reading
from scaled.core.verifying import Verifying
from scaled.station.link import LinkState, LinkStatus, reached
from scaled.station.scale_link import ScaleLink
from scaled.station.stream_time import StreamTime

if TYPE_CHECKING:
    from collections.abc import Callable

    from scaled.config import StationConfig
    from scaled.core.checkup import Checkup
    from scaled.protocol import Driver

Tell: TypeAlias = "Callable[[Asked | LinkStatus], None]"
"""Told what is to be done, once each time that changes, and what the link lacks."""


async def make_check(
    config: StationConfig,
    driver: Driver,
    checkup: Checkup,
    tell: Tell,
    clock: Callable[[], float],
) -> Verifying:
    """Follow the scale until all of the check is done; a lost line is waited for.

    Args:
        config: The scale.
        driver: Of its wire format.
        checkup: What is to be done.
        tell: Called in the loop; must not wait.
        clock: Seconds from any origin, never backwards.

    Raises:
        LinkRefused: The line cannot be opened.
    """
    time = StreamTime(clock)
    link = ScaleLink(driver, reached(config, driver), time.now)
    check = _Check(Verifying(checkup), time, tell)
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
    return check.verifying


class _Check:
    """One check at one link."""

    def __init__(self, verifying: Verifying, time: StreamTime, tell: Tell) -> None:
        self.verifying = verifying
        self.done = asyncio.Event()
        self._time = time
        self._tell = tell
        self._told: Asked | None = None

    async def hear(self, heard: Reading | LinkStatus) -> None:
        """Take what the link gives."""
        if isinstance(heard, Reading):
            self.verifying.read(self._time.stamped(heard))
            self._lead()
        elif heard.state not in {LinkState.OPENING, LinkState.LIVE}:
            self._told = None  # said again once it is back
            self._tell(heard)

    def _lead(self) -> None:
        asked = self.verifying.asked
        if asked is None:
            self.done.set()
        elif asked != self._told:
            self._told = asked
            self._tell(asked)
