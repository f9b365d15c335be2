"""Keeps web pages out: what a browser on this machine loads must not reach a station.

A page of any site can make the browser send requests to the loopback interface. Such a request
carries the page's own Origin; and a page that gave its host name our address (DNS rebinding)
still carries that name as Host. On a port only our own names are let in, and no other origin.
"""

from __future__ import annotations

import ipaddress
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from starlette.datastructures import Headers
from starlette.responses import JSONResponse

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Receive, Scope, Send

_FOREIGN = "refused: this station is not open to web pages"


class LocalOnly:
    """ASGI middleware that refuses, with 403, what a foreign web page sent."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on or refuse one request or one WebSocket handshake."""
        if scope["type"] in {"http", "websocket"} and not is_local(Headers(scope=scope)):
            if scope["type"] == "websocket":
                await send({"type": "websocket.close", "code": 1008})  # becomes 403
                return
            await JSONResponse({"detail": _FOREIGN}, 403)(scope, receive, send)
            return
        await self._app(scope, receive, send)


def is_local(headers: Headers) -> bool:
    """Whether the Host is one of this machine's own names, and the Origin, if any, the same."""
    hosts, origins = headers.getlist("host"), headers.getlist("origin")
    if len(hosts) != 1 or not _is_loopback(hosts[0]):
        return False
    return all(origin == f"http://{hosts[0]}" for origin in origins)


def _is_loopback(host: str) -> bool:
    try:
        name = urlsplit(f"//{host}").hostname or ""
        return name == "localhost" or ipaddress.ip_address(name).is_loopback
    except ValueError:
        return False
