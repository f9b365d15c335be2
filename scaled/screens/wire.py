"""What comes over the station's API, read into values."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Any, Final, Literal

from pydantic import BaseModel, Field, TypeAdapter

from scaled.station.state import StationState


class StateMessage(BaseModel):
    """The station as it stands; the first message of every connection."""

    type: Literal["state"]
    state: StationState


class EventsMessage(BaseModel):
    """Events in order, each as the journal has it."""

    type: Literal["events"]
    events: tuple[dict[str, Any], ...]


class MissedMessage(BaseModel):
    """So many messages were left out because this client was too slow."""

    type: Literal["missed"]
    count: int


Message = Annotated[StateMessage | EventsMessage | MissedMessage, Field(discriminator="type")]


class ProfileTitle(BaseModel):
    """One profile to choose from."""

    id: str
    title: str
    revision: str


class ProfileFile(BaseModel):
    """A profile's TOML text."""

    text: str


class StationName(BaseModel):
    """The name of one of the daemon's stations."""

    name: str


@dataclass(frozen=True, slots=True)
class Away:
    """The station cannot be followed now.

    Attributes:
        reason: Why, in one line.
        absent: Nothing is there at all: it is to be started, or to come back.
    """

    reason: str
    absent: bool = False


MESSAGE: Final[TypeAdapter[StateMessage | EventsMessage | MissedMessage]] = TypeAdapter(Message)
TITLES: Final = TypeAdapter(list[ProfileTitle])
NAMES: Final = TypeAdapter(list[StationName])

Command = Mapping[str, str | bool | Sequence[str] | None]
"""A command's JSON fields, such as ``{"command": "next"}``."""
