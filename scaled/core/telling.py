"""What a new rest meant, told as events."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, NamedTuple

from scaled.core.belief import Mode
from scaled.core.certainty import SURE
from scaled.core.events import (
    BuildStarted,
    Event,
    Lifted,
    OutOfOrder,
    Returned,
    Rezeroed,
    Settled,
    TakenBack,
    Verdict,
)
from scaled.core.food import Move

if TYPE_CHECKING:
    from scaled.core.belief import Belief
    from scaled.core.meant import Moved
    from scaled.core.plan import Plan
    from scaled.core.rest import Rest
    from scaled.core.track import Tracker

TOLD: Final = 0.90
"""Probability at which a move (lift, return, take-back) is told as an event."""

At = tuple[float, int]
"""Time of the reading and number of the build."""


class Before(NamedTuple):
    """What a rest was reached from.

    Attributes:
        best: What was most probable; None when this is the first rest.
        stood_g: The level at which what was believed to lie on the pan lay still last.
    """

    best: Belief | None
    stood_g: float


def told_moves(moved: Moved, before: Before, now: Tracker, plan: Plan, at: At) -> list[Event]:
    """The move that led to a rest, if it is sure enough and worth an event.

    Args:
        moved: What led to it.
        before: What it was reached from.
        now: What is believed now.
        plan: What the build should be.
        at: When, and in which build.
    """
    was = before.best
    sure = next((move for move, chance in moved.chances.items() if chance >= TOLD), None)
    best = now.best
    if was is None or best is None:
        return []
    t, build = at
    told: list[Event] = []
    if moved.keyed >= TOLD:
        told.append(Rezeroed(t=t, build=build, shift_g=moved.shift_g))
    if sure is Move.BEGUN:
        return told + _out_of_order(was, now, plan, at)
    if sure is None or (sure is Move.TAKEN and not was.stands_at(before.stood_g)):
        return told  # what never lay still may have been a push
    return told + _moved(sure, was, best, plan, at)


def _moved(sure: Move, was: Belief, best: Belief, plan: Plan, at: At) -> list[Event]:
    t, build = at
    match sure:
        case Move.LIFTED:
            return [Lifted(t=t, build=build, net_g=best.food_g)]
        case Move.RETURNED:
            change_g = best.food_g - was.food_g
            return [Returned(t=t, build=build, net_g=best.food_g, change_g=change_g)]
        case Move.TAKEN:
            step, amount_g = plan.steps[best.group[-1]], was.food_g - best.food_g
            if amount_g <= 0:
                return []  # another story has become the likeliest
            return [TakenBack(t=t, build=build, step=step, amount_g=amount_g)]
        case _:
            return []


def _out_of_order(was: Belief, now: Tracker, plan: Plan, at: At) -> list[Event]:
    """A step begun while another was due, if it is sure that the other one is still to come."""
    due = (was.ahead if was.gestures else was.group)[:1]
    best = now.beliefs[0][1]
    step = best.group[0]
    passed_over = now.probability(
        lambda belief: belief.group == best.group and set(due) <= set(belief.ahead)
    )
    if not due or step in {*due, *was.group} or passed_over < TOLD:
        return []
    t, build = at
    return [OutOfOrder(t=t, build=build, step=plan.steps[step], expected=plan.steps[due[0]])]


def told_container(now: Tracker, plan: Plan, at: At) -> BuildStarted:
    """A build has begun, most likely in this container.

    Args:
        now: What is believed; a build stands on the pan.
        plan: What the build should be.
        at: When, and in which build.
    """
    t, build = at
    best = now.beliefs[0][1]
    chance = now.probability(lambda belief: belief.base_g == best.base_g)
    if best.origin is not None:
        best = best.origin.courses[0][1]  # weighed where it was set down first
    if not best.weighed:
        return BuildStarted(t=t, build=build, tare_g=None, u_g=best.base_u_g)
    known, confidence = plan.containers.guess(best.tare_g, best.tare_u_g)
    return BuildStarted(
        t=t,
        build=build,
        tare_g=best.tare_g,
        u_g=best.tare_u_g,
        container=known.name if known else None,
        confidence=confidence * chance,
    )


def told_settled(best: Belief, mass: float, rest: Rest, plan: Plan, at: At) -> Settled:
    """The rest itself: what the open step holds so far.

    Args:
        best: The most probable belief.
        mass: Probability of its open step.
        rest: The rest.
        plan: What the build should be.
        at: When, and in which build.
    """
    t, build = at
    if best.mode is not Mode.ON or not best.gestures:
        return Settled(
            t=t, build=build, step=None, net_g=None, u_g=rest.u_g, verdict=None, confidence=mass
        )
    band = plan.aim(best.group).band
    judged = plan.rule.judge(band, best.net_g, best.net_u_g)
    said: Verdict | None = judged.verdict
    confidence = judged.confidence
    if mass < SURE:
        said, confidence = Verdict.UNSURE, 1.0
    elif plan.rule.goal(band, best.net_u_g).judge(best.net_g) is Verdict.UNDER:
        # Not finished yet is not under.
        said, confidence = None, 1.0
    return Settled(
        t=t,
        build=build,
        step=plan.steps[best.group[-1]],
        net_g=best.net_g,
        u_g=judged.u_g,
        verdict=said,
        confidence=mass * confidence,
    )
