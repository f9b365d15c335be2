"""A station as screens see it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from scaled.core.live import Live
from scaled.station.check_run import CheckingState
from scaled.station.day_check import CheckState
from scaled.station.link import LinkStatus


@dataclass(frozen=True, slots=True)
class SessionState:
    """The session under way.

    Attributes:
        session: Its id.
        badge: Code of the cook; None when nobody signed in.
        profile: Id of what is built.
        started_at: When it began; in UTC.
        unfit: What the scale cannot judge of the profile, one line each, in its order.
    """

    session: str
    badge: str | None
    profile: str
    started_at: datetime
    unfit: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class StationState:
    """One station at one moment; whatever it shows as final is in the journal.

    Attributes:
        name: The station's name.
        link: How its scale's link is.
        session: The session under way; None until a profile was chosen.
        live: The build as of the last reading; None before the session's first.
        fault: Why the station stops, one line; None while it works.
        check: The scale's check of the day; None before the station looked for it.
        checking: The check of the scale under way; ``live`` stands still meanwhile.
        badge: Code of whoever signed in last, session or not; None when nobody did.
    """

    name: str
    link: LinkStatus
    session: SessionState | None = None
    live: Live | None = None
    fault: str | None = None
    check: CheckState | None = None
    checking: CheckingState | None = None
    badge: str | None = None
