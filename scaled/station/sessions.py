"""The sessions of one station, one after another, and what of them is not stored yet.

No I/O and no tasks: readings, commands and changes of the link in, entries for the journal out.
"""

from __future__ import annotations

from contextlib import suppress
from datetime import UTC
from typing import TYPE_CHECKING, Final

from scaled.core.check_scale import check_fit
from scaled.core.command import Next, Undo
from scaled.core.errors import CommandRefused, ProfileError
from scaled.core.reading import Reading
from scaled.station.check_run import CheckRun
from scaled.station.day_check import DayCheck
from scaled.station.link import SILENT, WEIGHING
from scaled.station.open_session import OpenSession
from scaled.station.premises import Standard
from scaled.station.register import Register
from scaled.station.stream_time import StreamTime
from scaled.station.writer import Begun, Checked, Ended, Entry

if TYPE_CHECKING:
    from scaled.config import StationConfig
    from scaled.core.accuracy import Accuracy
    from scaled.core.command import Command
    from scaled.station.acquaintance import Acquaintance
    from scaled.station.check_plan import CheckPlan
    from scaled.station.day_check import CheckState
    from scaled.station.link import LinkStatus
    from scaled.station.premises import Clocks
    from scaled.station.recovery import Interrupted

_CHECKING: Final = "the scale is being checked; finish that or abandon it first"


class Sessions:
    """Who builds what on one scale.

    Attributes:
        time: The stream's time.
        current: The session under way or, once all is over, the last one.
        standard: What is built; None until it was chosen.
        badge: Code of the cook; None until somebody signed in.
        day_check: The scale's check of the day.
        check_run: The check of the scale under way; builds are not followed meanwhile.
        division_g: The display's smallest step, or the smallest it can have; None: not known.
    """

    def __init__(
        self, config: StationConfig, clocks: Clocks, software: str, finest_g: float | None = None
    ) -> None:
        """Nothing is built yet; the format tells no step smaller than ``finest_g``, if any."""
        self.time = StreamTime(clocks.clock)
        self.current: OpenSession | None = None
        self.standard: Standard | None = None
        self.badge: str | None = None
        self.day_check = DayCheck(config)
        self.check_run: CheckRun | None = None
        self._config = config
        self.division_g = config.division_g or finest_g
        self._register = Register(config, software)
        self._waiting: Standard | None = None
        self._now = clocks.now
        self._software = software
        self._silence: str | None = None
        self._entries: list[Entry] = []

    def take(self) -> tuple[Entry, ...]:
        """What is to be stored by now, in order; readings alone may wait a little."""
        if self.current is not None and self.current.due:
            self._close_entry(self.current)
        entries, self._entries = tuple(self._entries), []
        return entries

    def hear(self, heard: Reading | LinkStatus) -> None:
        """Take a reading or a change of the link."""
        if isinstance(heard, Reading):
            reading = self.time.stamped(heard)
            if self.check_run is not None:
                self.check_run.read(reading)
                self._end_check(self.check_run)
            elif self.current is not None:
                self.current.read(reading)
        elif heard.state in SILENT:
            self._silence = heard.detail
            if self.current is not None:
                self.current.lose(self.time.now(), heard.detail)
        elif heard.state in WEIGHING:
            self._silence = None
            if self.current is not None and self.check_run is None:
                self.current.regain(self.time.now())

    def obey(self, command: Command, session: str | None = None) -> None:
        """Tell the core what is asked of a session; None: of the one under way.

        Raises:
            CommandRefused: It cannot be done now, or another session is under way.
        """
        name = type(command).__name__.lower()
        if self.check_run is not None and isinstance(command, Next | Undo):
            raise CommandRefused(name, _CHECKING)
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
        if badge == self.badge:
            return
        self._check_replaceable("badge")
        if self.standard is not None:
            self.day_check.check_allowed("badge", self._now())
        self.badge = badge
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
        self.day_check.check_allowed("profile", self._now())
        self._begin(standard)

    def start(self, standard: Standard) -> None:
        """Build this, at once or as soon as the check of the day allows it."""
        self._waiting = standard
        if not self.check.refused:
            self.choose(standard)

    def begin_check(self, plan: CheckPlan) -> None:
        """Check the scale from now on instead of following builds.

        Raises:
            CommandRefused: A build is on the scale, or a check is under way.
        """
        self._check_replaceable("check")
        self.check_run = CheckRun(plan)
        if self.current is not None:
            self.current.lose(self.time.now(), "the scale is being checked")

    def abandon_check(self) -> None:
        """Keep nothing of the check under way; builds are followed once its weights are off.

        Raises:
            CommandRefused: None is under way.
        """
        if self.check_run is None:
            raise CommandRefused("abandon", "no check of the scale is under way")
        self.check_run.abandon()
        self._end_check(self.check_run)

    @property
    def wanted(self) -> Standard | None:
        """What is built, or will be once the check of the day allows it."""
        return self.standard or self._waiting

    def meet(self, cook: Acquaintance) -> None:
        """Know a cook from earlier, should the next session be his."""
        self._register.acquaintance = cook

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
        elif not (found.resumable and self._register.is_of_this_scale(session.info)):
            self._finish(session)
        else:
            self.time.go_on(found.last_t + found.gap_s)
            session.lose(found.last_t, "the station stopped and was started again")
            self._go_on(session, Standard(session.info.profile_text, session.profile))
            self.badge = session.info.badge

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
        info = self._register.open(standard, self.badge, self.day_check, self._now())
        self._entries.append(Begun(info))
        session = OpenSession(info, standard.profile, self.time.last_t, self._config.unit)
        self._go_on(session, standard)

    def _go_on(self, session: OpenSession, standard: Standard) -> None:
        session.fit(self.division_g)
        self.current, self.standard = session, standard
        if self._silence is not None:
            session.lose(self.time.now(), self._silence)

    def _end_check(self, run: CheckRun) -> None:
        if not run.over:
            return
        self.check_run = None
        check = run.record(self._now().astimezone(UTC), self._software)
        if check is not None:
            self._entries.append(Checked(check, tuple(run.taken)))
            self.day_check = DayCheck(self._config, check)
            self._begin_anew()
        elif self.current is not None and self._silence is None:
            self.current.regain(self.time.now())

    def _begin_anew(self) -> None:
        """Begin a session that is judged by the check just made, if there can be one.

        Where there can be none, whoever chooses the dish again is told why.
        """
        standard = self._waiting = self.wanted
        self.end()
        if self.current is not None:
            self._register.acquaintance = self.current.acquaintance
        self.current = self.standard = None
        with suppress(ProfileError):
            if standard is not None:
                check_fit(standard.profile, self.division_g, self.accuracy)
                self.start(standard)

    def _finish(self, session: OpenSession) -> None:
        session.close()
        self._close_entry(session)
        self._entries.append(Ended(session.info.session, self._now()))

    def _close_entry(self, session: OpenSession) -> None:
        if (happened := session.take(self._now())) is not None:
            self._entries.append(happened)

    def _check_replaceable(self, command: str) -> None:
        if self.check_run is not None:
            raise CommandRefused(command, _CHECKING)
        if self.current is not None:
            self.current.check_replaceable(command)
