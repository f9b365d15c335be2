"""From one station to its clients, none of which can slow it: each has its own bounded feed."""

from __future__ import annotations

import asyncio
from collections import deque
from contextlib import contextmanager
from typing import TYPE_CHECKING, Final, NamedTuple

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from scaled.core.events import Event
    from scaled.station.state import StationState

MOST_EVENTS: Final = 500
"""Events kept for a client that does not read: several whole builds."""


class News(NamedTuple):
    """What a client has not seen yet.

    Attributes:
        missed: Events left out before ``events`` because the client was too slow.
        events: In order.
        state: The latest state, None when the client has seen it.
    """

    missed: int
    events: tuple[Event, ...]
    state: StationState | None


class Feed:
    """One client's: the latest state and the events since it last asked."""

    def __init__(self, state: StationState) -> None:
        """Begin with a state, so that a client that comes late knows all."""
        self._state: StationState | None = state
        self._events: deque[Event] = deque(maxlen=MOST_EVENTS)
        self._missed = 0
        self._ended = False
        self._news = asyncio.Event()
        self._news.set()

    async def wait(self) -> bool:
        """Wait until there is news; False when there is none and never will be."""
        await self._news.wait()
        return not self._ended or self._has_news

    def take(self) -> News:
        """All news there are, which are then no news any more."""
        news = News(self._missed, tuple(self._events), self._state)
        self._missed, self._state = 0, None
        self._events.clear()
        if not self._ended:
            self._news.clear()
        return news

    def show(self, state: StationState) -> None:
        """Replace the state by a later one."""
        self._state = state
        self._news.set()

    def tell(self, events: Iterable[Event]) -> None:
        """Add events; the oldest give way when the client does not read."""
        for event in events:
            self._missed += len(self._events) == MOST_EVENTS
            self._events.append(event)
        self._news.set()

    def end(self) -> None:
        """Nothing follows."""
        self._ended = True
        self._news.set()

    @property
    def _has_news(self) -> bool:
        return bool(self._missed or self._events or self._state)


class Feeds:
    """All clients' feeds of one station."""

    def __init__(self) -> None:
        self._feeds: set[Feed] = set()
        self._ended = False
        self._unused = asyncio.Event()
        self._unused.set()

    @contextmanager
    def joined(self, state: StationState) -> Iterator[Feed]:
        """A feed for one client, for as long as it stays."""
        feed = Feed(state)
        if self._ended:
            feed.end()
        self._feeds.add(feed)
        self._unused.clear()
        try:
            yield feed
        finally:
            self._feeds.discard(feed)
            if not self._feeds:
                self._unused.set()

    def show(self, state: StationState) -> None:
        """Give every client a later state."""
        for feed in self._feeds:
            feed.show(state)

    def tell(self, events: Iterable[Event]) -> None:
        """Give every client some events."""
        for feed in self._feeds:
            feed.tell(events)

    def end(self) -> None:
        """Nothing follows, for those who are here and for any who come."""
        self._ended = True
        for feed in self._feeds:
            feed.end()

    async def emptied(self) -> None:
        """Wait until the last client is gone."""
        await self._unused.wait()
