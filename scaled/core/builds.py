"""One build after another on one pan: when one begins, and when it is over."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from scaled.core import by_hand
from scaled.core.belief import Belief, Mode
from scaled.core.command import Collect, Expect, Forget
from scaled.core.completion import complete
from scaled.core.guide import Guide
from scaled.core.handoff import Handoff
from scaled.core.ledger import NEXT, Ledger
from scaled.core.telling import TOLD, told_container
from scaled.core.track import Tracker

if TYPE_CHECKING:
    from scaled.core.departure import Departure, Sender
    from scaled.core.events import Event
    from scaled.core.plan import Plan
    from scaled.core.rest import Rest
    from scaled.core.share import Ended
    from scaled.core.track import Weighed

STARTED: Final = 0.80
"""Probability at which a container is taken for a new build."""
EVEN: Final = 0.50
GONE_S: Final = 2.5
"""A complete build off the pan this long is finished; sooner it may only be turned round."""
ASKED_BACK_S: Final = 15.0
"""... or this long while the screen, which may know better, asks for it back."""


class Builds:
    """The builds of one session.

    Args:
        plan: What each of them should be; learns from each.
        sender: Whose they are.
    """

    def __init__(self, plan: Plan, sender: Sender) -> None:
        self._plan = plan
        self.tracker = Tracker(plan)
        self.guide = Guide(plan)
        self.handoff = Handoff(sender, plan, self.tracker, self.guide)
        """What goes to other scales and comes from them."""
        self.ledger = Ledger(plan, 0, 0.0)
        """What has been said of the build on the pan, or of the last one."""
        self.left_s: float | None = None
        """Since when the build is off the pan; None while it is on it, or there is none."""
        self._not_over = self.tracker.beliefs  # looked at: only a rest makes it over
        self._came_s: float | None = None  # since when the next one may stand there
        self._open = False  # a build began, and its last words are not said

    @property
    def number(self) -> int:
        """Number of the build on the pan, from 1; 0 before the first container."""
        return self.ledger.number

    def placed(self, rest: Rest, before: tuple[Weighed, ...], t: float) -> list[Event]:
        """A new container: the build before is over, another begins.

        While that is not clear both go on side by side; the next lift settles it. A shoulder
        settles nothing: a hand may still press on the build that is set back.

        Args:
            rest: The rest that may be it.
            before: What was believed before it; nothing at the very first rest.
            t: Time of the reading that told.
        """
        best = self.tracker.beliefs[0][1]
        if not rest.settled or (not before and best.origin is None):
            return []  # what stood there before anybody looked may be anything: a move tells
        chance = self.tracker.probability(lambda belief: belief.fresh)
        if chance < NEXT:
            self._came_s = None
        elif self._came_s is None:
            self._came_s = rest.begin_s
        lifted = best.mode is Mode.OFF
        if chance >= (EVEN if lifted else STARTED):
            self.handoff.follow(before, self.ledger, t)
            return self.begin(rest.begin_s, t)
        if lifted:
            for tracker in (self.tracker, self.guide):
                tracker.condition(lambda belief: not belief.fresh)
            self._came_s = None
        return []

    def begin(self, begin_s: float, t: float) -> list[Event]:
        """Go on with the new container alone.

        Args:
            begin_s: Since when it stands there, if it was not thought of sooner.
            t: Time of the reading that told.
        """
        begin_s = begin_s if self._came_s is None else self._came_s
        self.tracker.condition(lambda belief: belief.fresh)
        ends = [(chance, b.ended) for chance, b in self.tracker.beliefs if b.ended is not None]
        left_s = begin_s if self.left_s is None else self.left_s
        told: list[Event] = []
        departure, self.handoff.departure = self.handoff.departure, None
        if departure is not None and departure.onward:
            told = self.handoff.hand_over(departure, t)
            self._learn(departure)
        elif ends and self._open:
            told = self._close(ends, t, left_s)
        self.tracker.change(lambda belief: belief._replace(fresh=False, ended=None))
        self.guide.begin(self.tracker)
        self.ledger = self.handoff.opened(self.number + 1, begin_s)
        self._open = True
        self.left_s = self._came_s = None
        return [*told, told_container(self.tracker, self._plan, (t, self.number))]

    def follow(self, rest: Rest, t: float) -> list[Event]:
        """Mark since when the build is off the pan, and what came from other scales."""
        best = self.tracker.beliefs[0][1]
        if best.mode is Mode.OFF:
            self.left_s = rest.begin_s if self.left_s is None else self.left_s
            self.handoff.follow(self.tracker.beliefs, self.ledger, t)
        elif not best.fresh:  # what may be the next container leaves it open
            self.left_s = self.handoff.departure = None
        return self.handoff.arrived(self.ledger, t)

    def gone(self, t: float) -> list[Event]:
        """A complete build that stayed off the pan is finished."""
        if self.left_s is None or t - self.left_s < GONE_S:
            return []
        if self.tracker.beliefs is self._not_over:
            return []
        if self.tracker.probability(self._is_over) < TOLD:
            self._not_over = self.tracker.beliefs
            return []
        asked_back = self.guide.probability(self._is_over) < EVEN
        return [] if asked_back and t - self.left_s < ASKED_BACK_S else self.end(t)

    def _is_over(self, belief: Belief) -> bool:
        return belief.mode is Mode.OFF and complete(belief, self._plan)

    def tell(self, command: Expect | Forget | Collect, t: float) -> list[Event]:
        """Take what another scale says of a build.

        Raises:
            CommandRefused: It cannot be so; says why.
        """
        match command:
            case Expect(transit=transit):
                return self.handoff.expect(transit, self.number, t)
            case Forget(origin=origin):
                return self.handoff.forget(origin, self.number, t)
        off = self.handoff.departure
        told = self.handoff.collect(command.build, self.number, t)
        if off is not None and self.handoff.departure is None:
            self._learn(off)
            self._forget()
        return told

    def end(self, t: float, *, cut: bool = False) -> list[Event]:
        """Say all that is left to say of the build, and forget it.

        Args:
            t: Time of the reading that told.
            cut: If it is still on the pan, it may not be finished: no step of it is called under
                or left out.
        """
        departure = self.handoff.departure
        if departure is not None and departure.onward:
            self._learn(departure)
            return departure.told(t)
        held = {Mode.ON, Mode.OFF}
        ends = [(chance, _end(b)) for chance, b in self.tracker.beliefs if b.mode in held]
        if not ends or not self._open:  # what stands there was never called a build
            return []
        on_pan = self.left_s is None
        left_s = t if self.left_s is None else self.left_s
        told = self._close(ends, t, left_s, cut=cut and on_pan)
        self._forget()
        return told

    def _close(
        self, ends: list[tuple[float, Ended]], t: float, left_s: float, *, cut: bool = False
    ) -> list[Event]:
        """The last words on a build; the next one is expected to be like it."""
        told = self.ledger.end(ends, t, left_s, cut=cut)
        self._plan.learn(self.ledger.own)
        return told

    def _learn(self, departure: Departure) -> None:
        """A build that goes on elsewhere: the next one's part here is expected to be like it."""
        self._plan.learn([*self.ledger.own, *departure.portions])

    def _forget(self) -> None:
        self._open, self._came_s = False, None
        self.ledger.seal()
        self.tracker.change(by_hand.emptied)
        self.guide.end(self.tracker)
        self.left_s = None
        self.handoff.departure = None


def _end(belief: Belief) -> Ended:
    """How the build that was told of ends, also where the next one may stand there already."""
    return belief.ended if belief.fresh and belief.ended is not None else belief.end()
