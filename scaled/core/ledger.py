"""What has been said for good about the build on the pan."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Final

from scaled.core import by_hand, report
from scaled.core.belief import Belief, Mode
from scaled.core.certainty import as_written
from scaled.core.events import OddContainer
from scaled.core.likeliest import is_sure, likeliest_share, outcome, outcome_of
from scaled.core.outcomes import asking, outcomes
from scaled.core.report import Outcome
from scaled.core.share import Ended, Share

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from scaled.core.events import Event, Portion
    from scaled.core.live import Odd
    from scaled.core.plan import Plan
    from scaled.core.track import Tracker, Weighed

ODD: Final = 0.90
"""Probability at which a container is said to be a wrong one."""
NEXT: Final = 0.05
"""Nothing is said of a build while something else this probable may stand there: the next one."""
FINAL: Final = 0.997
"""A step's outcome this probable is final at once; less must wait for the build's end."""
UNSEEN: Final = 1e-6
"""Probability of what only the screen's belief holds, when a key says that it is true."""


class Ledger:
    """The final words on one build.

    Args:
        plan: What the build should be.
        number: The build's number, from 1; 0 before the first container.
        started_s: Since when its container stood there.
    """

    def __init__(self, plan: Plan, number: int, started_s: float) -> None:
        self._plan = plan
        self.number = number
        self.started_s = started_s
        self.portions: dict[int, Portion] = {}
        """Final word by step index."""
        self.answered: set[str] = set()
        """Checks answered by a person."""
        self.odd: Odd | None = None
        """What the build stands in when that is not right for it and was said."""
        self._carried: set[int] = set()
        self._before: list[tuple[tuple[int, ...], tuple[Weighed, ...]]] = []

    def carry(self, words: Sequence[Portion], answered: Iterable[str]) -> None:
        """Go on with a build begun elsewhere: what was said there is not said again.

        Args:
            words: Final words on its steps.
            answered: Checks that were answered.
        """
        for word in words:
            step = self._plan.steps.index(word.step)
            self.portions[step] = word
            self._carried.add(step)
        self.answered |= set(answered)

    @property
    def own(self) -> list[Portion]:
        """Final words on steps that were done here, by this cook."""
        return [word for step, word in self.portions.items() if step not in self._carried]

    def warn(self, tracker: Tracker, t: float, *, lasting: bool) -> list[Event]:
        """Say once that the build stands in a container that is not right for it, when sure.

        Args:
            tracker: Holds the beliefs.
            t: Time of the reading.
            lasting: The rest has lasted: no hand holds an empty container any more.
        """
        best = tracker.beliefs[0][1]
        let_go = bool(best.shares()) or (lasting and best.mode is Mode.ON)
        if self.odd is not None or not let_go:
            return []
        right, wrong = 0.0, []
        for chance, belief in tracker.beliefs:
            wrongness = self._wrongness(belief)
            right += chance * (1 - wrongness)
            if right > 1 - ODD:
                return []
            wrong.append((chance * wrongness, belief))
        _, best = max(wrong, key=lambda pair: pair[0])
        containers = self._plan.containers
        self.odd = containers.odd(best.tare_g, best.tare_u_g)
        own = containers.own
        return [
            OddContainer(
                t=t,
                build=self.number,
                tare_g=best.tare_g,
                expected_g=own.tare_g,
                container=self.odd.name,
                expected=own.name,
            )
        ]

    def _wrongness(self, belief: Belief) -> float:
        here = belief.mode in {Mode.ON, Mode.OFF} and belief.origin is None
        if not here or not belief.weighed:
            return 0.0
        return self._plan.containers.wrongness(belief.tare_g, belief.tare_u_g)

    def close(self, tracker: Tracker, before: tuple[Weighed, ...], t: float) -> list[Event]:
        """Say the final word on every step whose outcome is now sure, once.

        Args:
            tracker: Holds the beliefs; those that disagree with what is said are dropped.
            before: The beliefs before the rest that made it sure, for :meth:`reopen`; none when
                the build was set down with it, and nothing can be reopened.
            t: Time of the reading.
        """
        events: list[Event] = []
        best = tracker.best
        if best is None or not best.closed or tracker.probability(_is_next) > NEXT:
            return []
        for closed in best.closed:
            step = closed.group[0]
            if step in self.portions or not is_sure(closed, tracker.beliefs, self._plan, FINAL):
                continue
            found = Outcome(*likeliest_share(tracker.beliefs, step, _closed, self._plan))
            share = found.share
            if share is None or found.mass < FINAL or not share.clear:
                continue
            # So sure that it makes no difference whether the build went as written.
            events += self._say(share.group, found, t)
            if before:
                self._before.append((share.group, before))
            tracker.condition(partial(self._agrees, step, outcome(share, self._plan)))
        return events

    def _agrees(self, step: int, said: object, belief: Belief) -> bool:
        """Whether a closed step comes out in a belief as it was said to."""
        return outcome_of(step, belief.closed, self._plan) == said

    def close_by_hand(self, tracker: Tracker, shown: Belief, t: float) -> list[Event]:
        """Say the final word on the open step and all before it: a person says it is done.

        What is in it is as sure as it was before the key; where the beliefs differ the word is
        "unsure". Beliefs in which another step is open are dropped afterwards.

        Args:
            tracker: Holds the beliefs.
            shown: What the person saw of them: the build on the pan and its open step.
            t: Time of the reading.
        """
        before = tracker.beliefs
        seen = tuple(pair for pair in before if _same_open(shown, pair[1])) or ((UNSEEN, shown),)
        events: list[Event] = []
        closed = by_hand.closed(shown).closed
        groups = {share.group[0]: share.group for share in closed}
        found = {
            step: self._by_hand(seen, before, step) for step in groups if step not in self.portions
        }
        asked = asking(found, self.portions, self._plan, plain=as_written(closed))
        for step, to_say in asked.items():
            events += self._say(groups[step], to_say, t)
            self._before.append((groups[step], before))
        tracker.beliefs = seen
        tracker.change(by_hand.closed)
        return events

    def _by_hand(
        self, seen: tuple[Weighed, ...], weighed: tuple[Weighed, ...], step: int
    ) -> Outcome:
        """The outcome of a step, when the open one is closed, as the person saw it.

        Args:
            seen: What he saw of the beliefs.
            weighed: All of them: it is as probable as it is in these.
            step: Index of the step.
        """
        share = likeliest_share(seen, step, _closed_by_hand, self._plan).share
        said = outcome(share, self._plan)
        mass = sum(
            chance
            for chance, belief in weighed
            if outcome_of(step, _closed_by_hand(belief), self._plan) == said
        )
        amiss = likeliest_share(weighed, step, _closed_by_hand, self._plan).amiss
        return Outcome(mass, share, amiss)

    def reopen(self) -> tuple[tuple[int, ...], tuple[Weighed, ...]] | None:
        """Take back the last final word.

        Returns:
            Its steps and the beliefs from before it was said; None when there is none.
        """
        if not self._before:
            return None
        group, before = self._before.pop()
        for step in group:
            self.portions.pop(step, None)
        return group, before

    def seal(self) -> None:
        """The build is over: no word is taken back any more."""
        self._before.clear()

    def end(
        self, ends: list[tuple[float, Ended]], t: float, left_s: float, *, cut: bool = False
    ) -> list[Event]:
        """Say what is left to say of a build that is over; nothing when it held no food.

        Args:
            ends: How the build may have ended, with probabilities, most probable first.
            t: Time of the reading that told.
            left_s: When the build left the pan.
            cut: It did not leave: the stream ended, and more might have come.
        """
        best = ends[0][1]
        if not best.shares and not self.portions:
            return []
        events: list[Event] = []
        unfinished = False
        for step, found in outcomes(ends, self.portions, self._plan, cut=cut).items():
            if step not in self.portions:
                share = found.share
                group = share.group if share else (step,)
                open_yet = cut and (share is None or self._short(share))
                unfinished = unfinished or open_yet
                events += self._say(group, found._replace(mass=0.0) if open_yet else found, t)
        mass, whole = report.likeliest_whole(ends, self._plan)
        explained = all(share.clear for share in best.shares)
        mass = mass if explained and not unfinished else 0.0
        at = (t, self.number)
        return [*events, report.finished(whole, mass, self._plan, at, left_s - self.started_s)]

    def _short(self, share: Share) -> bool:
        return share.net_g < self._plan.aim(share.group).band.low_g

    def _say(self, group: tuple[int, ...], outcome: Outcome, t: float) -> list[Portion]:
        said = []
        for step in group:
            if step not in self.portions:
                portion = report.portion(step, outcome, self._plan, (t, self.number))
                self.portions[step] = portion
                said.append(portion)
        return said


def _is_next(belief: Belief) -> bool:
    return belief.fresh


def _closed(belief: Belief) -> tuple[Share, ...]:
    return belief.closed


def _closed_by_hand(belief: Belief) -> tuple[Share, ...]:
    return by_hand.closed(belief).closed if belief.mode is Mode.ON else belief.shares()


def _same_open(shown: Belief, belief: Belief) -> bool:
    """Whether a belief is at the same place as the one shown, though it may weigh otherwise."""
    places = ((b.mode, b.group, b.ahead, b.fresh) for b in (shown, belief))
    return next(places) == next(places)
