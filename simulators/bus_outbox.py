"""Messages on their way to a bus, a few at a time."""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    import asyncio

    from dbus_fast import Message
    from dbus_fast.aio import MessageBus

_AT_ONCE: Final = 32
"""Messages handed over together: dbus-fast 5 gives a connection up when the socket is full, which
takes about 270 short ones that nobody had a chance to read."""


class Outbox:
    """Keeps the order of what is sent; what a lost connection did not take is forgotten."""

    def __init__(self, bus: MessageBus) -> None:
        self._bus = bus
        self._waiting: deque[Message] = deque()
        self._busy = False

    def send(self, message: Message) -> None:
        """Send it after all that was sent before."""
        self._waiting.append(message)
        if not self._busy:
            self._hand_over()

    def _hand_over(self) -> None:
        sent: asyncio.Future[None] | None = None
        for _ in range(min(_AT_ONCE, len(self._waiting))):
            sent = self._bus.send(self._waiting.popleft())
        self._busy = sent is not None
        if sent is not None:
            sent.add_done_callback(self._go_on)

    def _go_on(self, sent: asyncio.Future[None]) -> None:
        if sent.cancelled() or sent.exception() is not None or not self._bus.connected:
            self._waiting.clear()
        self._hand_over()
