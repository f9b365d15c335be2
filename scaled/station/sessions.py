"""The sessions of one station, one after another, and what of them is not stored yet.

No I/O and no tasks: readings, commands and changes of the link in, entries for the journal out.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Final

from scaled.core.errors import CommandRefused
from scaled.core.reading import Reading
from scaled.records.session import SessionInfo
from scaled.station.day_check import DayCheck, refusal
from scaled.station.link import SILENT, WEIGHING
from scaled.station.open_session import OpenSession
from scaled.station.premises import Standard
from scaled.station.stream_time import StreamTime
from scaled.station.writer import Begun, Ended, Entry

if TYPE_CHECKING:
    from scaled.config import StationConfig
    from scaled.core.accuracy import Accuracy
    from scaled.core.command import Command
    from scaled.station.day_check import CheckState
    from scaled.station.link import LinkStatus
    from scaled.station.premises import Clocks
    from scaled.station.recovery import Interrupted

_ID_TICK: Final = timedelta(milliseconds=1)
"""Session ids tell the time to this; no two of a station have the same."""


class Sessions:
    """Who builds what on one scale.

    Attributes:
        time: The stream's time.
        current: The session under way or, once all is over, the last one.
        standard: What is built; None until it was chosen.
        day_check: The scale's check of the day.
    """

    def __init__(self, config: StationConfig, clocks: Clocks, software: str) -> None:
        """Nothing is built yet; ``software`` is this program's version."""
        self.time = StreamTime(clocks.clock)
        self.current: OpenSession | None = None
        self.standard: Standard | None = None
        self.day_check = DayCheck(config)
        self._config = config
        self._now = clocks.now
        self._software = software
        self._badge: str | None = None
        self._silence: str | None = None
        self._id_at = datetime.min.replace(tzinfo=UTC)
        self._entries: list[Entry] = []

    def take(self) -> tuple[Entry, ...]:
        """What is to be stored by now, in order; readings alone may wait a little."""
        if self.current is not None and self.current.due:
            self._close_entry(self.current)
        entries = tuple(self._entries)
        self._entries.clear()
        return entries

    def hear(self, heard: Reading | LinkStatus) -> None:
        """Take a reading or a change of the link."""
        if isinstance(heard, Reading):
            reading = self.time.stamped(heard)
            if self.current is not None:
                self.current.read(reading)
        elif heard.state in SILENT:
            self._silence = heard.detail
            if self.current is not None:
                self.current.lose(self.time.now(), heard.detail)
        elif heard.state in WEIGHING:
            self._silence = None
            if self.current is not None:
                self.current.regain(self.time.now())

    def obey(self, command: Command, session: str | None = None) -> None:
        """Tell the core what is asked of a session; None: of the one under way.

        Raises:
            CommandRefused: It cannot be done now, or another session is under way.
        """
        name = type(command).__name__.lower()
        if self.current is None:
            raise CommandRefused(name, "nothing is being built; choose a profile first")
        if session not in {None, self.current.info.session}:
            raise CommandRefused(name, f"session {session} is over")
        self.current.obey(command)

    def sign_in(self, badge: str) -> None:
        """Go on with another cook, in a new session if one is under way.

        Raises:
            CommandRefused: A build is on the scale.
        """
        if badge == self._badge:
            return
        self._check_replaceable("badge")
        if self.standard is not None:
            self._check_allowed("badge")
        self._badge = badge
        if self.standard is not None:
            self._begin(self.standard)

    def choose(self, standard: Standard) -> None:
        """Build something else, in a new session.

        Raises:
            CommandRefused: A build is on the scale, or its check of the day is wanting.
        """
        if standard == self.standard:
            return
        self._check_replaceable("profile")
        self._check_allowed("profile")
        self.standard = standard
        self._begin(standard)

    @property
    def check(self) -> CheckState:
        """The scale's check of the day, as of now."""
        return self.day_check.state(self._now())

    @property
    def accuracy(self) -> Accuracy | None:
        """How truly the scale weighs, as is known now."""
        return self.day_check.accuracy(self._now())

    def take_up(self, found: Interrupted) -> None:
        """Go on with a session whose daemon was killed, or end it when that makes no sense."""
        session = found.session
        if session is None:
            self._entries.append(Ended(found.id, self._now()))
        elif not (found.resumable and self._is_our_scale(session.info)):
            self._finish(session)
        else:
            self.time.go_on(found.last_t + found.gap_s)
            session.lose(found.last_t, "the station stopped and was started again")
            self.current = session
            self.standard = Standard(session.info.profile_text, session.profile)
            self._badge = session.info.badge

    def end(self) -> None:
        """Say the final words of the session under way, if there is one."""
        if self.current is not None:
            self._finish(self.current)

    def stop(self) -> None:
        """Let the station stop; a build under way is kept open for the next start."""
        if self.current is not None and self.current.holds_build:
            self._close_entry(self.current)
        else:
            self.end()

    def _begin(self, standard: Standard) -> None:
        self.end()
        info = self._info(standard)
        self._entries.append(Begun(info))
        self.current = OpenSession(info, standard.profile, self.time.last_t)
        if self._silence is not None:
            self.current.lose(self.time.now(), self._silence)

    def _info(self, standard: Standard) -> SessionInfo:
        at = self._now().astimezone(UTC)
        return SessionInfo(
            session=self._next_id(at),
            station=self._config.name,
            badge=self._badge,
            profile_text=standard.text,
            profile_id=standard.profile.id,
            profile_revision=standard.profile.revision,
            format=self._config.format,
            device=self._config.device,
            division_g=self._config.division_g,
            accuracy=self.accuracy,
            scale_check=self.check.fitness.value,
            position=self._config.position,
            started_at=at,
            software=self._software,
        )

    def _next_id(self, now: datetime) -> str:
        """An id later than all before it, even when the wall clock stood still or went back."""
        self._id_at = at = max(now, self._id_at + _ID_TICK)
        return f"{at:%Y%m%dT%H%M%S}{at.microsecond // 1000:03d}Z-{self._config.name}"

    def _finish(self, session: OpenSession) -> None:
        session.close()
        self._close_entry(session)
        self._entries.append(Ended(session.info.session, self._now()))

    def _close_entry(self, session: OpenSession) -> None:
        happened = session.take(self._now())
        if happened is not None:
            self._entries.append(happened)

    def _is_our_scale(self, info: SessionInfo) -> bool:
        config = self._config
        ours = (config.format, config.device, config.division_g, config.position)
        return ours == (info.format, info.device, info.division_g, info.position)

    def _check_allowed(self, command: str) -> None:
        if self.check.refused:
            raise CommandRefused(command, refusal(self.check, self._config.name))

    def _check_replaceable(self, command: str) -> None:
        if self.current is not None:
            self.current.check_replaceable(command)
