"""Waiting for a condition instead of for a time."""

from __future__ import annotations

import asyncio
from collections.abc import Callable

PATIENCE_S = 60.0


async def eventually(holds: Callable[[], object]) -> None:
    """Return when the condition holds; fail when it does not within a generous time."""
    async with asyncio.timeout(PATIENCE_S):
        while not holds():  # noqa: ASYNC110 -- the condition is nobody's event
            await asyncio.sleep(0.01)
