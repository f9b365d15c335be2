"""After a crash: what a station's last session was about, and whether it can go on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from scaled.core.errors import ProfileError
from scaled.core.events import SignalBack, SignalLost, event_line
from scaled.core.profile import parse_profile
from scaled.records.query import Selection, records, resumable, sessions
from scaled.records.reader import Records
from scaled.records.session import parse_instant
from scaled.station.open_session import OpenSession

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime
    from pathlib import Path

    from scaled.core.events import Event
    from scaled.records.query import Unfinished

RESUME_S: Final = 1800.0
"""After so long an interruption nobody goes on with the bowl that was on the scale."""


@dataclass(frozen=True, slots=True)
class Interrupted:
    """A session whose daemon was killed.

    Attributes:
        session: It as it stood, None when the core no longer says of it what is stored.
        id: Its id.
        last_t: Time of the last thing stored of it, s.
        last_at: When that was stored.
    """

    session: OpenSession | None
    id: str
    last_t: float
    last_at: datetime


def find_interrupted(journal: Path, station: str) -> Interrupted | None:
    """The last session of a station if it never ended; blocking.

    Raises:
        JournalError: The journal cannot be read.
    """
    with Records.open(journal) as stored:
        unfinished = resumable(stored, station)
        if unfinished is None:
            return None
        wanted = Selection(session=unfinished.info.session)
        kept = [record for found in sessions(stored, wanted) for record in records(stored, found)]
    times = [event.t for event in unfinished.events] + [r.t for r in unfinished.readings[-1:]]
    return Interrupted(
        session=_restored(unfinished),
        id=unfinished.info.session,
        last_t=max(times, default=0.0),
        last_at=parse_instant(kept[-1].recorded_at),
    )


def core_lines(events: Iterable[Event]) -> list[str]:
    """The events that the core says again when it is fed the same, as the journal has them."""
    return [event_line(e) for e in events if not isinstance(e, SignalLost | SignalBack)]


def _restored(unfinished: Unfinished) -> OpenSession | None:
    info = unfinished.info
    try:
        profile = parse_profile(info.profile_text, info.session)
    except ProfileError:
        return None
    session = OpenSession(info, profile, 0.0)
    told = session.replay(unfinished.readings, unfinished.events)
    return session if core_lines(told) == core_lines(unfinished.events) else None
