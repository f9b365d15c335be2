"""A build that leaves this scale with steps to go: what is said of it here, and what is passed on.

What was done here is judged here; what is still open or ahead is for the scale that it goes to.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from scaled.core import report
from scaled.core.belief import Belief
from scaled.core.certainty import as_written
from scaled.core.event_line import rounded
from scaled.core.handoff_events import HandedOver
from scaled.core.likeliest import likeliest_share
from scaled.core.outcomes import asking
from scaled.core.share import Share
from scaled.core.transit import LEAST_CHANCE, LONGEST_S, MOST_COURSES, ClosedStep, Course, Transit

if TYPE_CHECKING:
    from scaled.core.events import Event, Portion
    from scaled.core.ledger import Ledger
    from scaled.core.plan import Plan
    from scaled.core.track import Weighed

GONE: Final = 0.90
"""Probability at which a build is said to be off the pan with steps to go."""


@dataclass(frozen=True, slots=True)
class Departure:
    """A build that left.

    Attributes:
        transit: What is passed on.
        portions: Final words on what was done here, not said before.
        net_g: Food in it.
        u_g: Standard uncertainty of that.
        onward: Steps of later positions are still to come: it is to go on there.
    """

    transit: Transit
    portions: tuple[Portion, ...]
    net_g: float
    u_g: float
    onward: bool

    def told(self, t: float) -> list[Event]:
        """The last words on it here."""
        words = [replace(portion, t=t) for portion in self.portions]
        build = self.transit.build
        return [*words, HandedOver(t=t, build=build, net_g=self.net_g, u_g=self.u_g)]


@dataclass(frozen=True, slots=True)
class Sender:
    """Whose build it is.

    Attributes:
        session: Name of the session.
        profile: Id of what is built.
        revision: Revision of that.
    """

    session: str
    profile: str
    revision: str


def depart(
    sender: Sender, left: list[Weighed], ledger: Ledger, plan: Plan, t: float
) -> Departure | None:
    """The build that left the pan with steps to go; None when that is not sure.

    Args:
        sender: Whose build it is.
        left: What is believed of it, most probable first, where it did leave like that.
        ledger: What has been said of it.
        plan: What it should be.
        t: Time of the reading that showed it gone.
    """
    its = [(chance, _closed_if_done(belief, plan)) for chance, belief in left]
    if sum(chance for chance, _ in its) < GONE:
        return None
    best, elapsed_s = its[0][1], _round(t - ledger.started_s)
    if elapsed_s > LONGEST_S or not (best.closed or best.gestures):
        return None
    portions = _words(its, ledger, plan, t)
    transit = Transit(
        session=sender.session,
        build=ledger.number,
        profile=sender.profile,
        revision=sender.revision,
        elapsed_s=elapsed_s,
        courses=tuple(_course(chance, belief, plan) for chance, belief in _likely(its)),
        said=tuple(rounded(word) for word in [*ledger.portions.values(), *portions]),
        answered=tuple(sorted(ledger.answered)),
    )
    end = best.end()
    ahead = best.ahead if best.gestures else (*best.group, *best.ahead)
    onward = not plan.beyond.isdisjoint(ahead)
    return Departure(transit, portions, end.total_g, end.total_u_g, onward)


def _closed_if_done(belief: Belief, plan: Plan) -> Belief:
    """The open step closed when it has all its food: nobody elsewhere is to judge it."""
    if not belief.gestures or not belief.ahead:
        return belief
    enough = belief.net_g >= plan.aim(belief.group).band.low_g
    return belief.opened(belief.ahead[:1]) if enough or not belief.clear else belief


def _words(its: list[Weighed], ledger: Ledger, plan: Plan, t: float) -> tuple[Portion, ...]:
    """Final words on the steps that are closed and not said yet."""
    closed = its[0][1].closed
    steps = [step for share in closed for step in share.group if step not in ledger.portions]
    elsewhere = 1 - sum(chance for chance, _ in its)
    found = {}
    for step in steps:
        mass, share, amiss = likeliest_share(its, step, _closed, plan)
        found[step] = report.Outcome(mass, share, amiss + elsewhere)
    asked = asking(found, ledger.portions, plan, plain=as_written(closed))
    at = (t, ledger.number)
    return tuple(report.portion(step, outcome, plan, at) for step, outcome in asked.items())


def _closed(belief: Belief) -> tuple[Share, ...]:
    return belief.closed


def _likely(its: list[Weighed]) -> list[Weighed]:
    total = sum(chance for chance, _ in its)
    weighed = [(chance / total, belief) for chance, belief in its[:MOST_COURSES]]
    return [pair for pair in weighed if pair[0] >= LEAST_CHANCE]


def _course(chance: float, belief: Belief, plan: Plan) -> Course:
    zero_g = belief.zero_g
    return Course(
        chance=round(chance, 6),
        container_g=_round(belief.base_g - zero_g),
        container_u_g=_round(belief.tare_u_g),
        weighed=belief.weighed,
        closed=tuple(
            ClosedStep(
                steps=_names(share.group, plan),
                net_g=_round(share.net_g),
                u_g=_round(share.u_g),
                clear=share.clear,
            )
            for share in belief.closed
        ),
        open=_names(belief.group, plan),
        open_from_g=_round(belief.start_g - zero_g),
        open_from_u_g=_round(belief.start_u_g),
        gestures=belief.gestures,
        clear=belief.clear,
        strange=belief.strange,
        gross_g=_round(belief.level_g - zero_g),
        gross_u_g=_round(belief.level_u_g),
    )


def _names(group: tuple[int, ...], plan: Plan) -> tuple[str, ...]:
    return tuple(plan.steps[step] for step in group)


def _round(value: float) -> float:
    """To 1 mg or 1 ms, as events are: what is passed on as JSON is what was passed on."""
    return round(value, 3) + 0.0
