"""What a session is: who built what, where, on which scale, by which standard."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scaled.core.accuracy import Accuracy
    from scaled.core.habit import Deviations


@dataclass(frozen=True, slots=True, kw_only=True)
class SessionInfo:
    """One cook's run of builds, as known when it begins.

    Attributes:
        session: Unique id that sorts by time, such as ``20261104T101500Z-line-1``.
        station: Name of the station.
        badge: Code of the cook; None when nobody signed in.
        profile_text: The whole build profile, so that every verdict can be recomputed.
        profile_id: Id of that profile.
        profile_revision: Revision of that profile.
        format: Wire format of the scale.
        device: What the scale was opened as.
        division_g: The scale's smallest displayed step, g; None when not known.
        accuracy: How truly it weighs; None when nothing is known of that.
        position: Where in the hand-off it stands; None when it stands for all positions.
        scale_check: What the scale's check of the day said: fit, unfit or missing; None in
            records from before there were such checks.
        habit: What the cook usually puts in, as known from earlier sessions: by id of the step
            how far off the newest portions were, oldest first, as shares of the target; None
            when nothing was known.
        started_at: When it began; in UTC.
        software: Version of this program.
    """

    session: str
    station: str
    badge: str | None
    profile_text: str
    profile_id: str
    profile_revision: str
    format: str
    device: str
    division_g: float | None
    started_at: datetime
    software: str
    accuracy: Accuracy | None = None
    position: str | None = None
    scale_check: str | None = None
    habit: Deviations | None = None


def instant_text(at: datetime) -> str:
    """An instant as RFC 3339 in UTC with milliseconds; texts sort as the instants do.

    Raises:
        ValueError: ``at`` says no offset from UTC.
    """
    if at.tzinfo is None:
        raise ValueError("an instant needs its offset from UTC")
    return at.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def parse_instant(text: str) -> datetime:
    """The instant, in UTC, that an RFC 3339 text names; without an offset it is UTC.

    Raises:
        ValueError: Not such a text.
    """
    at = datetime.fromisoformat(text)
    return at.replace(tzinfo=UTC) if at.tzinfo is None else at.astimezone(UTC)
