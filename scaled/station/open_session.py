"""A session under way: its core, and what of it the journal does not have yet."""

from __future__ import annotations

from collections import deque
from typing import TYPE_CHECKING, Final

from scaled.core.check_scale import unfit
from scaled.core.command import Command, Confirm, Next, Note, Undo
from scaled.core.errand import Scale
from scaled.core.errors import CommandRefused
from scaled.core.events import Confirmed, Event, Noted, SignalBack, SignalLost, Tapped
from scaled.core.handoff_events import Collected, Expected, Forgotten, command_behind
from scaled.core.live import Ask, StepState
from scaled.core.session import Post, Session
from scaled.station.acquaintance import Acquaintance
from scaled.station.plate import in_unit_said
from scaled.station.state import SessionState
from scaled.station.writer import Happened

if TYPE_CHECKING:
    from collections.abc import Iterable
    from datetime import datetime

    from scaled.core.live import Live
    from scaled.core.profile import BuildProfile
    from scaled.core.reading import Reading
    from scaled.records.journal import SessionInfo

FLUSH_S: Final = 10.0
"""Oldest a reading gets without being stored: what a crash may cost while nothing happens (a
build stores every few seconds anyway); shorter ones fill the journal over idle days."""
EMPTY_G: Final = 1.0
EMPTY_DIVISIONS: Final = 2
"""Less than the larger of these in the container is not food yet, but a display at work."""


class OpenSession:
    """One session of one station, from its beginning or from where it was interrupted."""

    def __init__(
        self, info: SessionInfo, profile: BuildProfile, t: float, unit: str | None = None
    ) -> None:
        """Begin at ``t``; ``profile`` is what ``info`` holds as text, ``unit`` the display's."""
        self.info = info
        self.profile = profile
        post = Post(info.session, info.position)
        self._core = Session(profile, info.division_g, info.accuracy, post, info.habit)
        self._unfit: tuple[str, ...] = ()
        self._events: list[Event] = []
        self._readings: list[Reading] = []
        self._read_t = self._stored_t = t
        self._lost_t: float | None = None
        self._unit = unit

    def fit(self, division_g: float | None) -> None:
        """Find out what a display of this division, g, cannot judge; None: not known."""
        found = unfit(self.profile, division_g, self.info.accuracy)
        self._unfit = tuple(f"{finding.where}: {finding.message}" for finding in found)

    @property
    def state(self) -> SessionState:
        """Who builds what."""
        info = self.info
        return SessionState(
            info.session, info.badge, info.profile_id, info.started_at, self._unfit
        )

    @property
    def live(self) -> Live | None:
        """The build as of the last reading."""
        return self._core.live

    @property
    def on_line(self) -> Scale:
        """Its part in the hand-off."""
        info = self.info
        return Scale(info.session, (info.profile_id, info.profile_revision), self._core)

    @property
    def acquaintance(self) -> Acquaintance | None:
        """Its cook as he is known by now; None of one who did not sign in."""
        info = self.info
        if info.badge is None:
            return None
        return Acquaintance(info.badge, info.profile_id, self._core.habit)

    @property
    def due(self) -> bool:
        """Whether there is something that should be stored by now."""
        return bool(self._events) or self._read_t - self._stored_t >= FLUSH_S

    def read(self, reading: Reading) -> None:
        """Take one reading."""
        reading, self._unit = in_unit_said(reading, self._unit), None
        self._readings.append(reading)
        self._read_t = reading.t
        self._events += self._core.read(reading)

    def obey(self, command: Command) -> None:
        """Do what a person asks, at the time of the last reading.

        Raises:
            CommandRefused: It cannot be done now.
        """
        self._events += self._core.command(command, self._read_t)

    def lose(self, t: float, reason: str) -> None:
        """Readings stopped; told once until they are back."""
        if self._lost_t is None:
            self._lost_t = self._read_t
            self._events.append(SignalLost(t=t, build=self._core.build, reason=reason))

    def regain(self, t: float) -> None:
        """Readings are back, if they were gone."""
        if self._lost_t is not None:
            gap_s = t - self._lost_t
            self._lost_t = None
            self._events.append(SignalBack(t=t, build=self._core.build, gap_s=gap_s))

    def close(self) -> None:
        """Say the final words on a build that is still open."""
        self._events += self._core.close(self._read_t)

    @property
    def holds_build(self) -> bool:
        """Whether a build with food in it is under way, on the pan or lifted off."""
        live = self.live
        if live is None or live.step is None:
            return False
        least_g = max(EMPTY_G, EMPTY_DIVISIONS * (self.info.division_g or 0.0))
        said = any(rung.state is StepState.DONE for rung in live.ladder)
        return said or live.total_net_g > least_g

    def check_replaceable(self, command: str) -> None:
        """Make sure that ending the session now cuts no build in two.

        Raises:
            CommandRefused: Food is in the container on the scale.
        """
        live = self.live
        lifted = live is None or live.ask in {Ask.PLACE, Ask.RETURN}
        if self.holds_build and not lifted:
            raise CommandRefused(
                command, "a build is on the scale; finish it or lift it off first"
            )

    def take(self, at: datetime) -> Happened | None:
        """What is not stored yet and will be, as of ``at``; None when there is nothing."""
        if not self._events and not self._readings:
            return None
        happened = Happened(self.info.session, tuple(self._events), tuple(self._readings), at)
        self._events.clear()
        self._readings.clear()
        self._stored_t = self._read_t
        return happened

    def replay(self, readings: Iterable[Reading], events: Iterable[Event]) -> list[Event]:
        """Go once more through what is stored; afterwards the session stands where it stood.

        Args:
            readings: All of the session, oldest first.
            events: All of the session, in order.

        Returns:
            What the core says to the readings and to the commands behind the events, in order.
        """
        stored = deque(events)
        for reading in readings:
            while stored and stored[0].t < reading.t:
                self._repeat(stored.popleft())
            self.read(reading)
        for event in stored:
            self._repeat(event)
        told = self._events.copy()
        self._events.clear()
        self._readings.clear()
        self._stored_t = self._read_t
        return told

    def _repeat(self, event: Event) -> None:
        """Let happen what came from outside: what people pressed, what the link did."""
        match event:
            case SignalLost():
                self._lost_t = self._read_t
            case SignalBack():
                self._lost_t = None
            case Tapped() | Confirmed() | Noted():
                self._events += self._core.command(_command(event), event.t)
            case Expected() | Forgotten() | Collected():
                self._events += self._core.command(command_behind(event), event.t)


def _command(said: Tapped | Confirmed | Noted) -> Command:
    """The command of a person that caused an event."""
    match said:
        case Tapped(key=key):
            return Next() if key == "next" else Undo()
        case Confirmed(confirm=confirm, held=held):
            return Confirm(confirm, held)
        case Noted(text=text):
            return Note(text)
