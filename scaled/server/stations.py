"""Routes to the stations: how they stand, live, and what a person tells them."""

from __future__ import annotations

from fastapi import APIRouter, WebSocket

from scaled.core.transit import Transit
from scaled.server.asked import (
    AbandonAsked,
    Asked,
    BadgeAsked,
    CheckAsked,
    ProfileAsked,
    check_wanted,
    core_command,
)
from scaled.server.house import ThisHouse
from scaled.server.live import follow
from scaled.station.state import StationState

ROUTES = APIRouter(prefix="/v1/stations")


@ROUTES.get("")
async def list_stations(house: ThisHouse) -> list[StationState]:
    """All stations as they stand."""
    return [station.state for station in house.stations.values()]


@ROUTES.get("/{name}")
async def show_station(house: ThisHouse, name: str) -> StationState:
    """One station as it stands."""
    return house.station(name).state


@ROUTES.get("/{name}/leaving")
async def show_leaving(house: ThisHouse, name: str) -> list[Transit]:
    """Builds with steps to go that left this station and are not known to be at another."""
    scale = house.station(name).on_line
    return [] if scale is None else list(scale.side.leaving)


@ROUTES.post("/{name}/commands")
async def command_station(house: ThisHouse, name: str, asked: Asked) -> StationState:
    """Do what a person asks; whatever it made final is stored when the answer comes."""
    station = house.station(name)
    match asked:
        case BadgeAsked(badge=badge):
            await station.sign_in(badge)
        case ProfileAsked(profile=profile):
            await station.choose(profile)
        case CheckAsked():
            await station.begin_check(check_wanted(asked))
        case AbandonAsked():
            await station.abandon_check()
        case _:
            await station.command(core_command(asked))
    return station.state


@ROUTES.websocket("/{name}/live")
async def follow_station(house: ThisHouse, name: str, socket: WebSocket) -> None:
    """The latest state at once and after every change; every event once it is stored.

    Messages: ``{"type": "state", "state": …}``, ``{"type": "events", "events": […]}`` and, when
    the client was too slow for some events, ``{"type": "missed", "count": …}`` in their place.
    """
    with house.station(name).joined() as feed:
        await follow(socket, feed)
