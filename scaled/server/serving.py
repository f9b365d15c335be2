"""Runs the API inside our own loop: no signal handlers, quiet, ended by leaving the block."""

from __future__ import annotations

import asyncio
import logging
from contextlib import asynccontextmanager, nullcontext
from typing import TYPE_CHECKING, Final

import uvicorn

from scaled.core.errors import ScaledError

if TYPE_CHECKING:
    import socket
    from collections.abc import AsyncIterator
    from contextlib import AbstractContextManager

    from fastapi import FastAPI

GRACE_S: Final = 2
"""How long clients may take to read what is left, s; whole, as uvicorn wants it."""
PING_S: Final = 20.0
"""How often a WebSocket is asked whether its client is there, and how long that may take, s."""
MESSAGE_BYTES: Final = 65_536
"""Clients have nothing to say over a WebSocket."""


@asynccontextmanager
async def serving(app: FastAPI, sock: socket.socket) -> AsyncIterator[None]:
    """Serve on a listening socket, which is closed in the end, while the block runs."""
    server = _Server(
        uvicorn.Config(
            app,
            ws="websockets-sansio",
            ws_max_size=MESSAGE_BYTES,
            ws_ping_interval=PING_S,
            ws_ping_timeout=PING_S,
            ws_per_message_deflate=False,
            lifespan="off",
            log_config=None,
            log_level="warning",
            access_log=False,
            server_header=False,
            timeout_graceful_shutdown=GRACE_S,
        )
    )
    logging.getLogger("uvicorn.error").addFilter(_worth_telling)
    async with asyncio.TaskGroup() as tasks:
        tasks.create_task(server.serve([sock]))
        await server.up.wait()
        try:
            yield
        finally:
            server.should_exit = True
            await server.down.wait()


class _Server(uvicorn.Server):
    """A server that says when it is up and down, and leaves signals to the program."""

    def __init__(self, config: uvicorn.Config) -> None:
        super().__init__(config)
        self.up = asyncio.Event()
        self.down = asyncio.Event()

    def capture_signals(self) -> AbstractContextManager[None]:  # type: ignore[override]
        return nullcontext()

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets)
        self.up.set()

    async def serve(self, sockets: list[socket.socket] | None = None) -> None:
        try:
            await super().serve(sockets)
        finally:
            for connection in list(self.server_state.connections):
                connection.transport.abort()  # a client that does not read would keep it for ever
            self.down.set()


def _worth_telling(record: logging.LogRecord) -> bool:
    """Keep tracebacks of bugs and one line for errors of ours; the rest is the server's chat."""
    err = record.exc_info[1] if record.exc_info else None
    if isinstance(err, ScaledError):
        record.msg, record.args, record.exc_info = str(err), (), None
    return err is not None and not isinstance(err, asyncio.CancelledError)
