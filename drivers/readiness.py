"""Waits for an open descriptor to have something to read, in the loop."""

from __future__ import annotations

import asyncio


class Readiness:
    """One descriptor's; only one waits at a time."""

    def __init__(self, descriptor: int) -> None:
        """Nothing is watched yet."""
        self._descriptor = descriptor
        self._awaited: asyncio.Future[None] | None = None

    async def wait(self) -> None:
        """Until there is something to read, or the line is lost, or ``wake`` is called."""
        loop = asyncio.get_running_loop()
        self._awaited = loop.create_future()
        # The reader is there for one event only: on a lost line it would fire for ever.
        loop.add_reader(self._descriptor, self.wake)
        try:
            await self._awaited
        finally:
            self.wake()

    def wake(self) -> None:
        """End the wait; nothing watches the descriptor any more."""
        awaited, self._awaited = self._awaited, None
        if awaited is not None:
            awaited.get_loop().remove_reader(self._descriptor)
            if not awaited.done():
                awaited.set_result(None)
