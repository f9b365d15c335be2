"""A cook's run of builds: readings and commands in, events and the live state out.

Pure and deterministic: the same readings and commands in the same order give the same events.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from scaled.core import events as ev
from scaled.core import undo
from scaled.core.advice import Scene, asks_whether_in, led, live
from scaled.core.belief import Mode
from scaled.core.builds import Builds
from scaled.core.command import Command, Confirm, Next, Note, Undo
from scaled.core.departure import Sender
from scaled.core.division import LearntDivision
from scaled.core.errors import CommandRefused
from scaled.core.habit import Habit
from scaled.core.intake import Intake
from scaled.core.plan import Plan
from scaled.core.rest import Phase, Rest
from scaled.core.settle import Settler
from scaled.core.telling import Before, told_moves, told_settled
from scaled.core.unit_key import Found, UnitKey, in_unit
from scaled.core.whereabouts import Whereabouts

if TYPE_CHECKING:
    from scaled.core.accuracy import Accuracy
    from scaled.core.events import Event
    from scaled.core.habit import Deviations
    from scaled.core.ledger import Ledger
    from scaled.core.live import Live
    from scaled.core.meant import Meanings
    from scaled.core.profile import BuildProfile
    from scaled.core.reading import Reading
    from scaled.core.transit import Transit


@dataclass(frozen=True, slots=True)
class Post:
    """Where a session stands in a line of several scales.

    Attributes:
        name: Tells it from every other session.
        position: The position of the hand-off; steps of others are left to others. None: this
            scale stands for all of them.
    """

    name: str = ""
    position: str | None = None


ALONE: Final = Post()


class Session:
    """One cook's builds of one profile on one scale.

    Args:
        profile: What is built.
        division_g: The scale's smallest displayed step, g; None to infer it from readings.
        accuracy: How truly it weighs; None counts its own error as nothing.
        post: Where it stands in the line.
        habit: What its cook usually puts in, as :attr:`habit` of the session before said; None:
            nobody knows him.
    """

    def __init__(
        self,
        profile: BuildProfile,
        division_g: float | None = None,
        accuracy: Accuracy | None = None,
        post: Post = ALONE,
        habit: Deviations | None = None,
    ) -> None:
        self._division = LearntDivision(division_g)
        self._plan = Plan.of(profile, self._division, accuracy, post.position)
        self._plan.expect(Habit.of(self._plan.steps, habit or {}))
        self._checks = tuple(confirm.id for confirm in profile.confirms)
        self._intake = Intake()
        self._unit_key = UnitKey(self._plan, self._division)
        self._settler = Settler(self._division.grams)
        sender = Sender(post.name, profile.id, profile.revision)
        self._builds = Builds(self._plan, sender)
        self._tracker, self._guide = self._builds.tracker, self._builds.guide
        self._whereabouts = Whereabouts()
        self._t: float | None = None
        self._weight_g = 0.0
        self._level_g = 0.0
        self._began_s = 0.0
        self._next_waits = False

    @property
    def live(self) -> Live | None:
        """The build as of the last reading, None before the first; made when asked for."""
        return None if self._t is None else self._look(self._t)

    @property
    def build(self) -> int:
        """Number of the build on the pan, from 1; 0 before the first container."""
        return self._builds.number

    @property
    def leaving(self) -> tuple[Transit, ...]:
        """Builds with steps to go that left the pan and are not known to be on another one."""
        return self._builds.handoff.leaving

    @property
    def expected(self) -> frozenset[str]:
        """Ids of builds begun on other scales that may be set down here."""
        return self._builds.handoff.expected

    @property
    def taken(self) -> tuple[str, ...]:
        """Ids of the latest builds begun on other scales that were set down here."""
        return self._builds.handoff.taken

    @property
    def habit(self) -> Deviations:
        """What its cook is known to put in, for his next session."""
        return self._plan.habit.carried(self._plan.steps)

    @property
    def _ledger(self) -> Ledger:
        return self._builds.ledger

    def read(self, reading: Reading) -> list[Event]:
        """Take one reading; what it made certain, oldest first."""
        intake, t = self._intake, reading.t
        unit, first = intake.unit, self._t is None
        weight_g = intake.read(reading, self._division.known_g)
        if weight_g is None:
            return []
        self._t, self._weight_g = t, weight_g
        if self._division.learning:
            self._settler.division_g = self._division.learn(reading, intake.unit)
        change = self._settler.read(t, weight_g, reading.stable)
        found = self._unit_key.read(reading, intake.unit, self._tracker)
        if found is not None:
            change = self._switched(found)
        told: list[Event] = []
        if intake.unit is not unit and not first:
            told.append(ev.UnitChanged(t=t, build=self.build, unit=intake.unit))
        if change is not None:
            told += self._rested(*change, t)
            self._lead(t)
        # What moves may be the build that is set back.
        if self._builds.left_s is not None and self._settler.resting:
            told += self._builds.gone(t)
        return told

    def command(self, command: Command, t: float) -> list[Event]:
        """Do what a person asks.

        Args:
            command: What is asked.
            t: Time of the last reading before it, s.

        Raises:
            CommandRefused: It cannot be done now; says why.
        """
        match command:
            case Next() | Undo():
                return self._keyed(command, t)
            case Confirm():
                return self._confirm(command, t)
            case Note(text=text):
                return [ev.Noted(t=t, build=self.build, text=text)]
        return self._builds.tell(command, t)

    def close(self, t: float) -> list[Event]:
        """End the stream: the final words on a build that is still open.

        On the pan it may not be finished: no step of it is called under or left out.
        """
        return self._builds.end(t, cut=True)

    def _lead(self, t: float) -> None:
        """Remember what the screen asks for, once it asks for more than to wait."""
        word = led(self._scene(t)) if self._settler.resting else None
        if word is not None:
            self._guide.lead(word, t)

    def _switched(self, found: Found) -> tuple[Phase, Rest]:
        """Go on in the unit that the display turned out to be in; the rest that told."""
        ratio = self._intake.correct(found.unit)
        self._settler, self._weight_g = found.settler, ratio * self._weight_g
        self._settler.division_g = self._division.grams
        for tracker in (self._tracker, self._guide):
            tracker.change(lambda belief: in_unit(belief, ratio))
        return Phase.BEGAN, found.rest

    def _rested(self, phase: Phase, rest: Rest, t: float) -> list[Event]:
        if phase in {Phase.REFINED, Phase.ENDED}:
            for tracker in (self._tracker, self._guide):
                if phase is Phase.REFINED:
                    tracker.outlast(self._level_g)
                tracker.revise(self._level_g, rest)
            self._level_g = rest.level_g
            self._whereabouts.rest(self._tracker.best, rest.level_g)
            lasting = phase is Phase.REFINED
            return self._ledger.warn(self._tracker, t, lasting=True) if lasting else []
        before, was = self._tracker.beliefs, self._tracker.best
        meant: Meanings = {}
        moved = self._tracker.advance(rest, meant)
        self._guide.take(rest, self._tracker, meant)
        self._plan.keys.learn(moved, was)
        reached_from = Before(was, self._whereabouts.stood_g)
        self._level_g, self._began_s = rest.level_g, rest.begin_s
        if rest.settled:
            self._whereabouts.rest(self._tracker.best, rest.level_g)
        number = self.build
        told = self._builds.placed(rest, before, t)
        told += told_moves(moved, reached_from, self._tracker, self._plan, (t, self.build))
        told += self._whereabouts.follow(told, self._tracker, (t, self.build))
        told += self._builds.follow(rest, t)
        told += self._ledger.warn(self._tracker, t, lasting=False)
        if phase is Phase.BEGAN:  # while it moves, what was added may still be taken back
            told += self._ledger.close(self._tracker, before if self.build == number else (), t)
            best, sure = self._tracker.beliefs[0][1], self._tracker.confidence
            told.append(told_settled(best, sure, rest, self._plan, (t, self.build)))
        if self._next_waits and phase is Phase.BEGAN:
            self._next_waits = False
            told += self._close_open_step(t)
        return told

    def _confirm(self, command: Confirm, t: float) -> list[Event]:
        check = command.confirm
        if check not in self._checks:
            known = ", ".join(self._checks) or "none"
            raise CommandRefused("confirm", f'no check "{check}"; there are: {known}')
        if not self.build:
            raise CommandRefused("confirm", "no build yet; set the container down first")
        self._ledger.answered.add(check)
        return [ev.Confirmed(t=t, build=self.build, confirm=check, held=command.held)]

    def _keyed(self, key: Next | Undo, t: float) -> list[Event]:
        told = self._next(t) if isinstance(key, Next) else self._undo(t)
        self._lead(t)
        return told

    def _next(self, t: float) -> list[Event]:
        best = self._guide.best
        if best is None or best.mode is not Mode.ON:
            raise CommandRefused("next", "no build is on the scale; set the container down first")
        told = self._builds.begin(self._began_s, t) if best.fresh else []
        told.append(ev.Tapped(t=t, build=self.build, key="next"))
        if not self._settler.resting:
            self._next_waits = True
            return told
        if asks_whether_in(self._scene(t)):
            undo.is_in(best, self._tracker, self._guide)
            return told
        return told + self._close_open_step(t)

    def _close_open_step(self, t: float) -> list[Event]:
        best = self._guide.best
        if best is None or best.mode is not Mode.ON:
            return []
        told = self._ledger.close_by_hand(self._tracker, best, t)
        self._guide.follow(self._tracker)
        return told if self._tracker.beliefs[0][1].group else told + self._builds.end(t)

    def _undo(self, t: float) -> list[Event]:
        best = self._guide.best
        if best is None or best.mode in {Mode.EMPTY, Mode.REPORTED}:
            raise CommandRefused("undo", "there is no open build; a finished one stays as it is")
        if best.mode is Mode.OFF:
            raise CommandRefused("undo", "the build is off the scale; set it back first")
        tapped = ev.Tapped(t=t, build=self.build, key="undo")
        if self._next_waits:
            self._next_waits = False
            return [tapped]
        back = undo.step_back(best, self._tracker, self._guide, self._ledger)
        return [
            tapped,
            *(ev.Reopened(t=t, build=self.build, step=self._plan.steps[i]) for i in back),
        ]

    def _look(self, t: float) -> Live:
        waiting = tuple(c for c in self._checks if c not in self._ledger.answered)
        return replace(live(self._scene(t)), confirms=waiting)

    def _scene(self, t: float) -> Scene:
        return Scene(
            best=self._guide.best,
            confidence=self._guide.confidence,
            stands=self._guide.stands,
            called_good=self._guide.called_good,
            asked_s=self._guide.asked_s,
            plan=self._plan,
            ledger=self._ledger,
            t=t,
            weight_g=self._weight_g,
            resting=self._settler.resting,
            since_s=self._began_s,
            firm=self._settler.firm,
            left=self._settler.left,
            coming=self._settler.provisional,
            division_g=self._settler.division_g,
        )
