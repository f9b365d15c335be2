"""After a crash: what a station's last session was about, and whether it can go on."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from scaled.core.errors import ProfileError
from scaled.core.event_line import event_line
from scaled.core.events import SignalBack, SignalLost
from scaled.core.profile import parse_profile
from scaled.records.query import events, readings, resumable, spans
from scaled.records.reader import Records
from scaled.records.session import parse_instant
from scaled.station.open_session import OpenSession

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from datetime import datetime
    from pathlib import Path

    from scaled.core.events import Event
    from scaled.core.reading import Reading
    from scaled.records.session import SessionInfo

RESUME_S: Final = 1800.0
"""After so long an interruption nobody goes on with the bowl that was on the scale."""


@dataclass(frozen=True, slots=True)
class Interrupted:
    """A session whose daemon was killed.

    Attributes:
        session: It as it stood; None when there is nothing to go on with or to finish, or when
            the core no longer says of it what is stored.
        id: Its id.
        last_t: Time of the last thing stored of it, s.
        gap_s: How long ago that was stored, s.
    """

    session: OpenSession | None
    id: str
    last_t: float
    gap_s: float

    @property
    def resumable(self) -> bool:
        """Whether somebody may still go on with it."""
        return self.session is not None and self.gap_s <= RESUME_S


def find_interrupted(journal: Path, station: str, now: datetime) -> Interrupted | None:
    """The last session of a station if it never ended; blocking.

    Raises:
        JournalError: The journal cannot be read.
    """
    with Records.open(journal) as stored:
        found = resumable(stored, station)
        if found is None:
            return None
        name = found.info.session
        last = stored.last_of(name)
        gap_s = max(0.0, (now - parse_instant(last.recorded_at)).total_seconds())
        if gap_s > RESUME_S and not _is_building(stored, name):
            return Interrupted(None, name, last.t or 0.0, gap_s)
        said, shown = tuple(events(stored, found)), readings(stored, name)
    times = [event.t for event in said] + [reading.t for reading in shown[-1:]]
    session = _restored(found.info, shown, said)
    return Interrupted(session, name, max(times, default=0.0), gap_s)


def core_lines(told: Iterable[Event]) -> list[str]:
    """The events that the core says again when it is fed the same, as the journal has them."""
    return [event_line(e) for e in told if not isinstance(e, SignalLost | SignalBack)]


def _is_building(journal: Records, session: str) -> bool:
    """Whether the last build of a session never ended."""
    builds = spans(journal, session)
    return bool(builds) and builds[-1].until_s == math.inf


def _restored(
    info: SessionInfo, shown: Sequence[Reading], said: Sequence[Event]
) -> OpenSession | None:
    try:
        profile = parse_profile(info.profile_text, info.session)
    except ProfileError:
        return None
    session = OpenSession(info, profile, 0.0)
    told = session.replay(shown, said)
    return session if core_lines(told) == core_lines(said) else None
