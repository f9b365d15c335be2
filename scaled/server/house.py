"""What the API speaks for: the stations of one daemon, its profiles and its journal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, cast

from fastapi import Depends, HTTPException
from starlette.requests import HTTPConnection

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from scaled.station.station import Station


@dataclass(frozen=True, slots=True)
class House:
    """One daemon.

    Attributes:
        stations: By name.
        profiles: Folders of build profiles, before the shipped ones.
        journal: The journal's file.
        software: Version of this program.
    """

    stations: Mapping[str, Station]
    profiles: tuple[Path, ...]
    journal: Path
    software: str

    def station(self, name: str) -> Station:
        """The station of that name; answers 404 when there is none."""
        if name not in self.stations:
            known = ", ".join(self.stations)
            raise HTTPException(404, f'no station "{name}"; there are: {known}')
        return self.stations[name]


def _house(connection: HTTPConnection) -> House:
    return cast("House", connection.app.state.house)


ThisHouse = Annotated[House, Depends(_house)]
