"""Builds that go from this scale to others, and come from them.

A build that left with steps to go may be set down on any scale of the line, this one included:
whoever is told to expect it recognises it by its weight.
"""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Final

from scaled.core.belief import Mode
from scaled.core.coming import AWAITED_S, MOST, Coming
from scaled.core.completion import complete
from scaled.core.departure import Departure, Sender, depart
from scaled.core.errors import CommandRefused
from scaled.core.events import Attribution, Verdict
from scaled.core.handoff_events import Collected, Expected, Forgotten, TakenOver
from scaled.core.ledger import Ledger

if TYPE_CHECKING:
    from scaled.core.belief import Belief
    from scaled.core.events import Event, Portion
    from scaled.core.plan import Plan
    from scaled.core.track import Tracker, Weighed
    from scaled.core.transit import Transit

TAKEN: Final = 0.95
"""Probability at which a build is said to be here."""
CANDIDATE: Final = 0.01
"""Less probable origins of a build are left out of account."""


class Handoff:
    """One scale's part in the hand-off.

    Args:
        sender: Whose scale it is.
        plan: What is built.
        tracker: What is believed to be on the pan.
        guide: What the screen speaks from; hears of other scales' builds too.
    """

    def __init__(self, sender: Sender, plan: Plan, tracker: Tracker, guide: Tracker) -> None:
        self._sender = sender
        self._plan = plan
        self._tracker = tracker
        self._trackers = (tracker, guide)
        self.departure: Departure | None = None
        """The build that is off the pan now, when it has steps to go."""
        self._handed: dict[int, Departure] = {}
        self._expected: dict[str, Coming] = {}
        self.taken: tuple[str, ...] = ()
        """Ids of the latest builds that were on their way and are here."""

    @property
    def leaving(self) -> tuple[Transit, ...]:
        """Builds that left this scale and are not known to be anywhere, oldest first."""
        gone = [departure.transit for departure in self._handed.values()]
        return (*gone, self.departure.transit) if self.departure else tuple(gone)

    @property
    def expected(self) -> frozenset[str]:
        """Ids of the builds that may be set down here."""
        return frozenset(self._expected)

    def follow(self, beliefs: tuple[Weighed, ...], ledger: Ledger, t: float) -> None:
        """See whether the build left with steps to go.

        Args:
            beliefs: What is believed of it, most probable first.
            ledger: What has been said of it.
            t: Time of the reading.
        """
        mode = beliefs[0][1].mode if beliefs else Mode.EMPTY
        if self.departure is None and ledger.number and mode in {Mode.ON, Mode.OFF}:
            left = [
                (chance, belief)
                for chance, belief in beliefs
                if belief.mode is mode and not belief.fresh and not complete(belief, self._plan)
            ]
            self.departure = depart(self._sender, left, ledger, self._plan, t)

    def hand_over(self, departure: Departure, t: float) -> list[Event]:
        """Say the last words on a build that is to go on elsewhere; it may still come back."""
        transit = departure.transit
        self._handed[transit.build] = departure
        self._await(Coming.of(transit, self._plan, t))
        return departure.told(t)

    def opened(self, number: int, begin_s: float) -> Ledger:
        """The ledger of the build that was just set down, wherever it began.

        Args:
            number: Its number here.
            begin_s: Since when it stands there.
        """
        origin = self._tracker.beliefs[0][1].origin
        if origin is None:
            return Ledger(self._plan, number, begin_s)
        ledger = Ledger(self._plan, number, origin.started_s)
        ledger.carry(*_agreed(self._origins()))
        return ledger

    def arrived(self, ledger: Ledger, t: float) -> list[Event]:
        """Builds that were expected and are surely here; others are waited for long enough."""
        told: list[Event] = []
        for build in list(self._expected.values()):
            here = self._tracker.probability(partial(_came, build))
            if here >= TAKEN and ledger.number:
                for tracker in self._trackers:
                    tracker.condition(partial(_came, build))
                self._drop(build)
                self.taken = (*self.taken, build.id)[-MOST:]
                told.append(self._took(build, ledger, t))
            elif t - build.told_s > AWAITED_S:
                self._lose(build)
        return told

    def _took(self, build: Coming, ledger: Ledger, t: float) -> TakenOver:
        number = ledger.number
        same = self._origins().get(build, 0.0) >= TAKEN
        if same:
            ledger.carry(build.transit.said, build.transit.answered)
        became = number if same else None
        return TakenOver(t=t, build=number, origin=build.id, became=became)

    def expect(self, transit: Transit, number: int, t: float) -> list[Event]:
        """A build that left another scale may be set down here.

        Raises:
            CommandRefused: It is of another dish, or expected already, or one too many.
        """
        theirs = f"{transit.profile}, revision {transit.revision}"
        ours = f"{self._sender.profile}, revision {self._sender.revision}"
        if theirs != ours:
            raise CommandRefused("expect", f"that build is {theirs}; here it is {ours}")
        if transit.id in self._expected:
            raise CommandRefused("expect", f"{transit.id} is expected already")
        if len(self._expected) >= MOST:
            raise CommandRefused("expect", f"{MOST} builds are expected; that is enough")
        self._await(Coming.of(transit, self._plan, t))
        return [Expected(t=t, build=number, transit=transit)]

    def forget(self, origin: str, number: int, t: float) -> list[Event]:
        """A build that was expected is on another scale.

        Raises:
            CommandRefused: It is not expected.
        """
        build = self._expected.get(origin)
        if build is None:
            raise CommandRefused("forget", f"{origin} is not expected here")
        self._lose(build)
        return [Forgotten(t=t, build=number, origin=origin)]

    def collect(self, build: int, number: int, t: float) -> list[Event]:
        """Another scale has a build that left this one; if it was not judged, it is now.

        Raises:
            CommandRefused: It did not leave, or came back.
        """
        told: list[Event] = [Collected(t=t, build=number, collected=build)]
        departure = self.departure
        if departure is not None and departure.transit.build == build:
            self.departure = None
            return [*told, *departure.told(t)]
        if build not in self._handed:
            raise CommandRefused("collect", f"build {build} is not on its way from here")
        own = self._expected[self._handed[build].transit.id]
        self._lose(own)
        return told

    def _await(self, build: Coming) -> None:
        self._expected[build.id] = build
        for tracker in self._trackers:
            tracker.expect(build)

    def _lose(self, build: Coming) -> None:
        """A build that was expected will not come."""
        for tracker in self._trackers:
            tracker.forget(build)
        self._drop(build)

    def _drop(self, build: Coming) -> None:
        del self._expected[build.id]
        if build.transit.session == self._sender.session:
            del self._handed[build.transit.build]

    def _origins(self) -> dict[Coming, float]:
        """What the build on the pan may have been before, with probabilities."""
        chances: dict[Coming, float] = {}
        for chance, belief in self._tracker.beliefs:
            if belief.origin is not None:
                chances[belief.origin] = chances.get(belief.origin, 0.0) + chance
        return chances


def _came(build: Coming, belief: Belief) -> bool:
    """Whether a build that was expected is no longer on its way in a belief."""
    return build not in belief.coming


def _agreed(origins: dict[Coming, float]) -> tuple[list[Portion], set[str]]:
    """What was said of a build that may be any of several: where they differ it is unsure.

    Steps that only some of them have a final word on are left to be judged here.

    Returns:
        Final words, and the checks that were answered in all of them.
    """
    first, *others = sorted(origins, key=lambda build: -origins[build])
    likely = [build.transit for build in others if origins[build] >= CANDIDATE]
    alike = [
        (word, [[w for w in transit.said if w.step == word.step] for transit in likely])
        for word in first.transit.said
    ]
    words = [
        word
        if all(w.verdict is word.verdict for said in same_step for w in said)
        else _unsure(word, origins[first])
        for word, same_step in alike
        if all(same_step)
    ]
    checks = (transit.answered for transit in likely)
    return words, set(first.transit.answered).intersection(*checks)


def _unsure(word: Portion, confidence: float) -> Portion:
    return replace(
        word,
        net_g=None,
        u_g=None,
        verdict=Verdict.UNSURE,
        confidence=confidence,
        attribution=Attribution.UNSURE,
        joint_with=(),
        skipped=False,
        u_scale_g=None,
        doubt=None,
    )
