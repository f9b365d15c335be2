"""One scale, live: link to core to journal to clients, in one task group."""

from __future__ import annotations

import asyncio
from dataclasses import replace
from typing import TYPE_CHECKING

from scaled.catalogue import find_profile, find_profile_by_id
from scaled.core.check_scale import check_fit
from scaled.core.errors import CommandRefused, ConfigError, InputError
from scaled.station.acquaintance import find_acquaintance
from scaled.station.check_plan import plan_check, unplanned
from scaled.station.day_check import find_day_check
from scaled.station.link import LinkStatus, reached
from scaled.station.link_log import LinkLog
from scaled.station.recorder import Recorder
from scaled.station.recovery import find_interrupted
from scaled.station.scale_link import ScaleLink
from scaled.station.sessions import Sessions
from scaled.station.state import SessionState, StationState

if TYPE_CHECKING:
    from contextlib import AbstractContextManager

    from scaled.config import StationConfig
    from scaled.core.command import Command
    from scaled.core.errand import Scale
    from scaled.core.reading import Reading
    from scaled.protocol import Driver
    from scaled.station.check_plan import CheckWanted
    from scaled.station.feed import Feed
    from scaled.station.premises import Find, Premises, Standard


class Station:
    """One scale and the sessions on it.

    ``prepare`` it, ``open`` it, then ``run`` it until cancelled; one that was opened and never
    comes to run owes a ``close``.
    """

    def __init__(self, config: StationConfig, driver: Driver, premises: Premises) -> None:
        """Nothing is opened yet."""
        self.name = config.name
        self._config = config
        self._premises = premises
        self._sessions = Sessions(config, premises.clocks, premises.software, driver.finest_g)
        self._link = ScaleLink(driver, reached(config, driver), self._sessions.time.now)
        self._log = LinkLog(self.name)
        shown = StationState(self.name, self._link.status)
        self._recorder = Recorder(premises.writer, premises.journal, shown)

    @property
    def state(self) -> StationState:
        """The station as it was shown to clients last."""
        return self._recorder.shown

    @property
    def standard(self) -> Standard | None:
        """What is built now; None until it was chosen."""
        return self._sessions.standard

    @property
    def on_line(self) -> Scale | None:
        """Its part in the hand-off; None until something is built."""
        current = self._sessions.current
        return None if current is None else current.on_line

    def joined(self) -> AbstractContextManager[Feed]:
        """A feed for one client, which begins with the state as it is."""
        return self._recorder.feeds.joined(self._recorder.shown)

    async def left_alone(self) -> None:
        """Wait until no client is joined."""
        await self._recorder.feeds.emptied()

    async def prepare(self) -> SessionState | None:
        """Take up an interrupted session, which is returned, or else begin the first.

        Raises:
            InputError: The profile to begin with cannot be had, or is too fine for the scale.
            JournalError: The journal cannot be read.
        """
        journal = self._premises.journal
        now = self._premises.clocks.now()
        found = await asyncio.to_thread(find_interrupted, journal, self.name, now)
        self._sessions.day_check = await asyncio.to_thread(find_day_check, journal, self._config)
        if found is not None:
            self._sessions.take_up(found)
        if self._sessions.current is not None:
            return self._sessions.current.state
        if self._config.profile is not None:
            self._sessions.start(await self._read(find_profile, self._config.profile))
        return None

    async def open(self) -> None:
        """Open the line at once; raises LinkRefused when it cannot be: ``run`` tries again."""
        await self._link.open()

    async def close(self) -> None:
        """Let the line go; calling it again does nothing."""
        await self._link.close()

    async def run(self) -> None:
        """Follow the scale until cancelled; the session ends too, unless a build is under way.

        Raises:
            JournalError: In a group: something could not be stored; it was not shown either.
        """
        async with asyncio.TaskGroup() as tasks:
            tasks.create_task(self._recorder.run(self._sessions.take, self._look))
            try:
                await self._link.run(self._hear)
            finally:
                self._sessions.stop()
                await self._recorder.finish()

    def give_up(self, fault: str) -> None:
        """Show why it stopped, once it did."""
        self._recorder.give_up(fault)

    async def command(self, command: Command, session: str | None = None) -> None:
        """Tell the core what a person or another scale asks; stored on return.

        Args:
            command: What is asked.
            session: Id of the session that is meant; None: whichever is under way.

        Raises:
            CommandRefused: It cannot be done now.
            JournalError: It could not be stored.
        """
        self._recorder.check_running(type(command).__name__.lower())
        self._sessions.obey(command, session)
        await self._recorder.settle()

    async def sign_in(self, badge: str) -> None:
        """Go on with another cook, in a new session if one is under way.

        Raises:
            CommandRefused: A build is on the scale.
            JournalError: It could not be stored.
        """
        await self._meet(badge, self._sessions.wanted)
        self._recorder.check_running("badge")
        self._sessions.sign_in(badge)
        await self._recorder.settle()

    async def choose(self, profile_id: str) -> None:
        """Build something else, in a new session; whoever asks may name no file.

        Raises:
            CommandRefused: A build is on the scale, there is no such profile, or the scale can
                judge none of its steps.
            JournalError: It could not be stored.
        """
        try:
            standard = await self._read(find_profile_by_id, profile_id)
        except InputError as err:
            raise CommandRefused("profile", str(err)) from err
        await self._meet(self._sessions.badge, standard)
        self._recorder.check_running("profile")
        self._sessions.choose(standard)
        await self._recorder.settle()

    async def begin_check(self, wanted: CheckWanted) -> None:
        """Check the scale, builds not being followed meanwhile; whoever is signed in checks.

        Raises:
            CommandRefused: No such check can be made, or not now.
            JournalError: Something could not be stored.
        """
        badge = wanted.badge or self._sessions.badge
        try:
            plan = await asyncio.to_thread(plan_check, self._config, replace(wanted, badge=badge))
        except ConfigError as err:
            raise CommandRefused("check", unplanned(err)) from err
        self._recorder.check_running("check")
        self._sessions.begin_check(plan)
        await self._recorder.settle()

    async def abandon_check(self) -> None:
        """Keep nothing of the check under way.

        Raises:
            CommandRefused: None is under way.
            JournalError: Something could not be stored.
        """
        self._recorder.check_running("abandon")
        self._sessions.abandon_check()
        await self._recorder.settle()

    async def _hear(self, heard: Reading | LinkStatus) -> None:
        """Take what the link gives, without waiting."""
        self._log.hear(heard)
        self._sessions.hear(heard)
        self._recorder.wake()

    def _look(self) -> StationState:
        session, run = self._sessions.current, self._sessions.check_run
        return StationState(
            name=self.name,
            link=self._link.status,
            session=session.state if session else None,
            live=session.live if session else None,
            check=self._sessions.check,
            checking=run.state if run else None,
            badge=self._sessions.badge,
        )

    async def _meet(self, badge: str | None, standard: Standard | None) -> None:
        """Look up what is known of a cook who is to build something."""
        if badge is None or standard is None:
            return
        journal, now = self._premises.journal, self._premises.clocks.now()
        profile = standard.profile
        self._sessions.meet(
            await asyncio.to_thread(find_acquaintance, journal, badge, profile, now)
        )

    async def _read(self, find: Find, name: str) -> Standard:
        standard = await asyncio.to_thread(self._premises.read_standard, find, name)
        check_fit(standard.profile, self._sessions.division_g, self._sessions.accuracy)
        return standard
