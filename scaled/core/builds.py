"""One build after another on one pan: when one begins, and when it is over."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from scaled.core.advice import complete
from scaled.core.belief import Belief, Mode
from scaled.core.ledger import Ledger
from scaled.core.telling import TOLD, told_container
from scaled.core.track import Tracker

if TYPE_CHECKING:
    from scaled.core.events import Event
    from scaled.core.plan import Plan
    from scaled.core.settle import Rest

STARTED: Final = 0.80
"""Probability at which a container is taken for a new build."""
EVEN: Final = 0.50
GONE_S: Final = 2.5
"""A complete build off the pan this long is finished; sooner it may only be turned round."""


class Builds:
    """The builds of one session.

    Args:
        plan: What each of them should be.
    """

    def __init__(self, plan: Plan) -> None:
        self._plan = plan
        self.tracker = Tracker(plan)
        self.ledger = Ledger(plan, 0, 0.0)
        """What has been said of the build on the pan, or of the last one."""
        self._left_s: float | None = None

    @property
    def number(self) -> int:
        """Number of the build on the pan, from 1; 0 before the first container."""
        return self.ledger.number

    def placed(self, rest: Rest, t: float) -> list[Event]:
        """A new container: the build before is over, another begins.

        While that is not clear both go on side by side; the next lift settles it.
        """
        chance = self.tracker.probability(lambda belief: belief.fresh)
        lifted = self.tracker.beliefs[0][1].mode is Mode.OFF
        if chance >= (EVEN if lifted else STARTED):
            return self.begin(rest.begin_s, t)
        if lifted:
            self.tracker.condition(lambda belief: not belief.fresh)
        return []

    def begin(self, begin_s: float, t: float) -> list[Event]:
        """Go on with the new container alone.

        Args:
            begin_s: Since when it stands there.
            t: Time of the reading that told.
        """
        self.tracker.condition(lambda belief: belief.fresh)
        ends = [(chance, b.ended) for chance, b in self.tracker.beliefs if b.ended is not None]
        told: list[Event] = []
        if ends:
            told = self.ledger.end(ends, t, begin_s if self._left_s is None else self._left_s)
        self.tracker.change(lambda belief: belief._replace(fresh=False, ended=None))
        self.ledger = Ledger(self._plan, self.number + 1, begin_s)
        return [*told, told_container(self.tracker, self._plan, (t, self.number))]

    def follow(self, rest: Rest) -> None:
        """Mark since when the build is off the pan."""
        if self.tracker.beliefs[0][1].mode is not Mode.OFF:
            self._left_s = None
        elif self._left_s is None:
            self._left_s = rest.begin_s

    def gone(self, t: float) -> list[Event]:
        """A complete build that stayed off the pan is finished."""
        if self._left_s is None or t - self._left_s < GONE_S:
            return []
        plan = self._plan
        if self.tracker.probability(lambda b: b.mode is Mode.OFF and complete(b, plan)) < TOLD:
            return []
        return self.end(t)

    def end(self, t: float, *, cut: bool = False) -> list[Event]:
        """Say all that is left to say of the build, and forget it.

        Args:
            t: Time of the reading that told.
            cut: If it is still on the pan, it may not be finished: no step of it is called under
                or left out.
        """
        held = {Mode.ON, Mode.OFF}
        ends = [(chance, b.end()) for chance, b in self.tracker.beliefs if b.mode in held]
        if not ends:
            return []
        on_pan = self._left_s is None
        left_s = t if self._left_s is None else self._left_s
        told = self.ledger.end(ends, t, left_s, cut=cut and on_pan)
        self.tracker.change(Belief.emptied)
        self._left_s = None
        return told
