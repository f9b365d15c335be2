"""The API put together, and its errors as one line each."""

from __future__ import annotations

import os
from http import HTTPStatus
from typing import TYPE_CHECKING, Final

from fastapi import APIRouter, FastAPI
from fastapi.exceptions import RequestValidationError
from fastapi.responses import JSONResponse
from pydantic import BaseModel

from scaled.core.errors import CommandRefused, InputError, JournalError
from scaled.server import exports, profiles, stations
from scaled.server.guard import LocalOnly
from scaled.server.house import House, ThisHouse
from scaled.server.listen import PROGRAM

if TYPE_CHECKING:
    from fastapi import Request

_STATUS: Final[dict[type[Exception], HTTPStatus]] = {
    CommandRefused: HTTPStatus.CONFLICT,
    InputError: HTTPStatus.CONFLICT,
    JournalError: HTTPStatus.SERVICE_UNAVAILABLE,
}
_HEALTH = APIRouter()


class Health(BaseModel):
    """Who answers here."""

    program: str
    version: str
    process: int
    stations: list[str]


def make_app(house: House, *, guarded: bool) -> FastAPI:
    """The API of one daemon; ``guarded`` when web browsers can reach it."""
    app = FastAPI(title="Build-check station", version="1", docs_url=None, redoc_url=None)
    app.state.house = house
    for routes in (_HEALTH, stations.ROUTES, profiles.ROUTES, exports.ROUTES):
        app.include_router(routes)
    for kind in _STATUS:
        app.add_exception_handler(kind, _answer_refused)
    app.add_exception_handler(RequestValidationError, _answer_malformed)
    if guarded:
        app.add_middleware(LocalOnly)
    return app


@_HEALTH.get("/v1/health")
async def show_health(house: ThisHouse) -> Health:
    """Who answers here: program, version, process and stations."""
    return Health(
        program=PROGRAM,
        version=house.software,
        process=os.getpid(),
        stations=list(house.stations),
    )


async def _answer_refused(_: Request, err: Exception) -> JSONResponse:
    status = next(status for kind, status in _STATUS.items() if isinstance(err, kind))
    return JSONResponse({"detail": str(err)}, status)


async def _answer_malformed(_: Request, err: Exception) -> JSONResponse:
    """The first thing that is wrong, as one line."""
    assert isinstance(err, RequestValidationError)  # noqa: S101 -- for the type checker
    first = err.errors()[0]
    key = next((part for part in reversed(first["loc"]) if isinstance(part, str)), "")
    reason = str(first["msg"]).removeprefix("Value error, ")
    return JSONResponse({"detail": f"{key}: {reason}"}, HTTPStatus.UNPROCESSABLE_ENTITY)
