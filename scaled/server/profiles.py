"""Routes to the build profiles: which there are, and each as its author wrote it."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from fastapi import APIRouter, HTTPException
from pydantic import BaseModel

from scaled.catalogue import ProfileSource, find_profile_by_id, parse_source, profile_ids
from scaled.core.errors import ConfigError, InputError
from scaled.core.profile_fields import Slug
from scaled.server.house import House, ThisHouse

if TYPE_CHECKING:
    from scaled.core.profile import BuildProfile
    from scaled.station.premises import Standard

ROUTES = APIRouter(prefix="/v1/profiles")


class ProfileTitle(BaseModel):
    """A build profile to choose."""

    id: str
    title: str
    revision: str


class ProfileText(ProfileTitle):
    """A build profile with its whole file."""

    text: str


@ROUTES.get("")
def list_profiles(house: ThisHouse) -> list[ProfileTitle]:
    """The profiles that can be chosen, by id; broken ones are left out."""
    found: list[ProfileTitle] = []
    for profile_id in profile_ids(house.profiles):
        with suppress(InputError):
            found.append(
                ProfileTitle(**_title(parse_source(_find(house, profile_id), profile_id)))
            )
    return found


@ROUTES.get("/{profile_id}")
def show_profile(house: ThisHouse, profile_id: Slug) -> ProfileText:
    """One profile; the very text that is built by, when a station builds it now."""
    standard = _built_now(house, profile_id)
    if standard is not None:
        return ProfileText(**_title(standard.profile), text=standard.text)
    try:
        source = _find(house, profile_id)
    except ConfigError as err:
        raise HTTPException(404, str(err)) from err
    return ProfileText(**_title(parse_source(source, profile_id)), text=source.text)


def _built_now(house: House, profile_id: str) -> Standard | None:
    standards = [station.standard for station in house.stations.values()]
    return next((s for s in standards if s is not None and s.profile.id == profile_id), None)


def _find(house: House, profile_id: str) -> ProfileSource:
    return find_profile_by_id(profile_id, house.profiles)


def _title(profile: BuildProfile) -> dict[str, str]:
    return {"id": profile.id, "title": profile.title, "revision": profile.revision}
