"""What the journal tells of a cook's portions before now; never a reason not to begin."""

from __future__ import annotations

from datetime import timedelta
from itertools import islice
from typing import TYPE_CHECKING, Final

from scaled.core.errors import JournalError, ProfileError
from scaled.core.events import Portion
from scaled.core.past import PastSession, habit_from
from scaled.core.profile import parse_profile
from scaled.records.body import SESSION_STARTED, read_start
from scaled.records.query import understood, verdicts

if TYPE_CHECKING:
    from collections.abc import Iterator
    from datetime import datetime

    from scaled.core.habit import Deviations
    from scaled.core.profile import BuildProfile
    from scaled.records.reader import Records
    from scaled.records.session import SessionInfo

REMEMBERED: Final = timedelta(days=30)
"""Older sessions say nothing of what a cook does now; it bounds the search too."""
SESSIONS: Final = 12
"""Newest sessions of a cook with a dish that are looked at."""


def find_habit(journal: Records, badge: str, profile: BuildProfile, now: datetime) -> Deviations:
    """What the cook with a badge usually puts into a dish, by his sessions on any scale.

    What of them is damaged or makes no sense to this program teaches nothing.

    Raises:
        JournalError: The journal cannot be read.
    """
    found = (
        past
        for info in _newest(journal, now)
        if (info.badge, info.profile_id) == (badge, profile.id)
        if (past := _past(journal, info)) is not None
    )
    return habit_from(profile, [*islice(found, SESSIONS)][::-1])


def habit_at(journal: Records, info: SessionInfo, build: int) -> Deviations:
    """What a session expected of its cook when a build of it began.

    Raises:
        JournalError: The journal is damaged or was changed.
        ProfileError: The session's profile makes no sense to this program.
    """
    profile = parse_profile(info.profile_text, f"session {info.session}")
    before = tuple(word for word in _words(journal, info.session) if word.build < build)
    return habit_from(profile, [PastSession(profile, before)], info.habit)


def _newest(journal: Records, now: datetime) -> Iterator[SessionInfo]:
    """The sessions of late, newest first; none of a clock that was wrong and is ahead of now."""
    for place in reversed(journal.places(SESSION_STARTED)):
        try:
            info = understood(journal, journal.at(place), read_start)
        except JournalError:
            continue
        if info.started_at < now - REMEMBERED:
            return
        if info.started_at <= now:
            yield info


def _past(journal: Records, info: SessionInfo) -> PastSession | None:
    try:
        profile = parse_profile(info.profile_text, info.session)
        return PastSession(profile, tuple(_words(journal, info.session)))
    except (JournalError, ProfileError):
        return None


def _words(journal: Records, session: str) -> Iterator[Portion]:
    """The final words on portions that still count, in order."""
    for judged in verdicts(journal, session):
        if isinstance(judged.event, Portion) and not judged.superseded:
            yield judged.event
