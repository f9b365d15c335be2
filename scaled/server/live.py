"""One client's live view: the latest state, and every event it is quick enough to take."""

from __future__ import annotations

import asyncio
import json
from contextlib import suppress
from typing import TYPE_CHECKING, Final

from fastapi import WebSocketDisconnect
from pydantic import TypeAdapter

from scaled.core.event_line import event_fields
from scaled.station.state import StationState

if TYPE_CHECKING:
    from collections.abc import Iterator

    from fastapi import WebSocket

    from scaled.station.feed import Feed, News

PAUSE_S: Final = 0.05
"""Between two sendings: 20 a second is more than a screen can show or an eye follow."""
GOING_AWAY: Final = 1001
"""Close code (RFC 6455, 7.4.1) when the station stops."""

_STATE: Final = TypeAdapter(StationState)


async def follow(socket: WebSocket, feed: Feed) -> None:
    """Send a feed until it ends or the client leaves; what the client says is ignored."""
    await socket.accept()
    async with asyncio.TaskGroup() as tasks:
        sending = tasks.create_task(_send(socket, feed))
        while (await socket.receive())["type"] != "websocket.disconnect":
            pass
        sending.cancel()


def messages(news: News) -> Iterator[str]:
    """The news as messages, in the order they are to be sent."""
    if news.missed:
        yield json.dumps({"type": "missed", "count": news.missed})
    if news.events:
        told = [event_fields(event) for event in news.events]
        yield json.dumps({"type": "events", "events": told}, ensure_ascii=False)
    if news.state is not None:
        yield f'{{"type":"state","state":{_STATE.dump_json(news.state).decode()}}}'


async def _send(socket: WebSocket, feed: Feed) -> None:
    with suppress(WebSocketDisconnect):  # the client may have left before we are told so
        while await feed.wait():
            for message in messages(feed.take()):
                await socket.send_text(message)
            await asyncio.sleep(PAUSE_S)
        await socket.close(GOING_AWAY, "the station stops")
