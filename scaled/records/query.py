"""What can be asked of the journal: sessions, verdicts, events, raw readings."""

from __future__ import annotations

import math
import zlib
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from scaled.core.errors import JournalError
from scaled.core.events import BuildStarted, Event, Finished, Portion, Reopened
from scaled.core.handoff_events import HandedOver
from scaled.records.body import (
    OTHER_KINDS,
    SESSION_ENDED,
    SESSION_STARTED,
    read_event,
    read_readings,
    read_start,
)
from scaled.records.chain import READINGS, Record
from scaled.records.check import SCALE_CHECKED, ScaleCheck, read_check

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from datetime import datetime

    from scaled.core.reading import Reading
    from scaled.records.reader import Records
    from scaled.records.session import SessionInfo

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Selection:
    """Which sessions are meant; None leaves a thing open.

    Attributes:
        session: Its id.
        station: Name of its station.
        badge: Code of its cook.
        profile: Id of its profile.
        since: It began at this instant or later.
        until: It began before this instant.
    """

    session: str | None = None
    station: str | None = None
    badge: str | None = None
    profile: str | None = None
    since: datetime | None = None
    until: datetime | None = None

    def has(self, info: SessionInfo) -> bool:
        """Whether a session is meant."""
        found = (info.session, info.station, info.badge, info.profile_id)
        return self._fits(found, info.started_at)

    def has_check(self, check: ScaleCheck) -> bool:
        """Whether a check of a scale is meant."""
        found = (check.check, check.station, check.badge, None)
        return self._fits(found, check.checked_at)

    def _fits(self, found: tuple[str | None, ...], at: datetime) -> bool:
        wanted = (self.session, self.station, self.badge, self.profile)
        return (
            all(want in {None, have} for want, have in zip(wanted, found, strict=True))
            and (self.since is None or at >= self.since)
            and (self.until is None or at < self.until)
        )


@dataclass(frozen=True, slots=True)
class StoredSession:
    """A session and the records that open and close it; ``end`` is None until it has ended."""

    info: SessionInfo
    start: Record
    end: Record | None


@dataclass(frozen=True, slots=True)
class StoredCheck:
    """A check of a scale and the record that holds it."""

    check: ScaleCheck
    record: Record


@dataclass(frozen=True, slots=True)
class Judged:
    """A verdict and the record that holds it.

    ``superseded`` says that the step was reopened afterwards: a later portion replaces this one.
    """

    record: Record
    event: Event
    superseded: bool


@dataclass(frozen=True, slots=True)
class Span:
    """When a build was on the pan, s: later than ``after_s``, up to and with ``until_s``.

    It begins where the build before ended, so that it holds the container being set down.
    """

    build: int
    after_s: float
    until_s: float


def sessions(journal: Records, wanted: Selection) -> Iterator[StoredSession]:
    """The sessions meant, by id and so by time."""
    for place in journal.places(SESSION_STARTED):
        session = _session(journal, place)
        if wanted.has(session.info):
            yield session


def checks(journal: Records, wanted: Selection) -> Iterator[StoredCheck]:
    """The checks of scales meant, by id and so by time; none where a profile is wanted."""
    for place in journal.places(SCALE_CHECKED):
        record = journal.at(place)
        check = understood(journal, record, read_check)
        if wanted.has_check(check):
            yield StoredCheck(check, record)


def records(journal: Records, session: StoredSession) -> Iterator[Record]:
    """All records of a session, in order, without the raw readings."""
    until = journal.count if session.end is None else session.end.seq
    return journal.of_session(session.info.session, session.start.seq - 1, until)


def events(journal: Records, session: StoredSession) -> Iterator[Event]:
    """All events of a session, in order."""
    for record in records(journal, session):
        if record.kind not in OTHER_KINDS:
            yield understood(journal, record, read_event)


def verdicts(journal: Records, session: str) -> list[Judged]:
    """The portions and finished builds of a session, in order."""
    stored = [
        record
        for kind in (Portion.event, Finished.event, Reopened.event)
        for record in journal.of_kind(session, kind)
    ]
    reopened: set[tuple[int, str]] = set()
    judged: list[Judged] = []
    # Newest first: what is to come of a step is known when one of its portions is met.
    for record in sorted(stored, key=lambda one: one.seq, reverse=True):
        event = understood(journal, record, read_event)
        if isinstance(event, Reopened):
            reopened.add((event.build, event.step))
        else:
            superseded = isinstance(event, Portion) and (event.build, event.step) in reopened
            judged.append(Judged(record, event, superseded))
    return judged[::-1]


def containers(journal: Records, session: str) -> dict[int, str]:
    """Name of what each build of a session stood in, of those that stood in a known container."""
    started = (
        understood(journal, record, read_event)
        for record in journal.of_kind(session, BuildStarted.event)
    )
    return {
        begun.build: begun.container
        for begun in started
        if isinstance(begun, BuildStarted) and begun.container is not None
    }


def spans(journal: Records, session: str) -> list[Span]:
    """When each build of a session was on the pan, in order; the last may be without end."""
    starts = {r.build: r.t for r in journal.of_kind(session, BuildStarted.event)}
    ends = {
        record.build: record.t
        for kind in (Finished.event, HandedOver.event)
        for record in journal.of_kind(session, kind)
    }
    found: list[Span] = []
    after_s = -math.inf
    for build in sorted(starts):
        until_s = ends.get(build, starts.get(build + 1))
        found.append(Span(build, after_s, math.inf if until_s is None else until_s))
        after_s = found[-1].until_s
    return found


def readings(journal: Records, session: str, build: int | None = None) -> tuple[Reading, ...]:
    """The raw readings of a session or of one of its builds, oldest first."""
    whole = [Span(0, -math.inf, math.inf)]
    kept = whole if build is None else [s for s in spans(journal, session) if s.build == build]
    return tuple(
        reading
        for span in kept
        for record in journal.with_chunks(session, READINGS)
        if (record.t or 0.0) > span.after_s
        for reading in understood(journal, record, read_readings)
        # Events round their time to 1 ms: the reading that caused one is to count as its.
        if span.after_s < round(reading.t, 3) <= span.until_s
    )


def resumable(journal: Records, station: str) -> StoredSession | None:
    """The newest session of a station when it has not ended, since its daemon was killed."""
    for place in sorted(journal.places(SESSION_STARTED), reverse=True):
        session = _session(journal, place)
        if session.info.station == station:
            return None if session.end else session
    return None


def understood(journal: Records, record: Record, read: Callable[[Record], T]) -> T:
    """What a record says.

    Raises:
        JournalError: It makes no sense to this program, though it matches its hash.
    """
    try:
        return read(record)
    except (KeyError, TypeError, ValueError, zlib.error) as err:
        reason = f"record {record.seq} ({record.kind}) says what is unknown here"
        raise JournalError(str(journal.path), reason, "update this program") from err


def _session(journal: Records, place: int) -> StoredSession:
    start = journal.at(place)
    end = next(journal.of_kind(start.session, SESSION_ENDED), None)
    return StoredSession(understood(journal, start, read_start), start, end)
