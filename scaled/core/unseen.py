"""What a new rest may mean when readings were missing before it: the cook went on meanwhile.

Work that nobody saw is taken to have gone its usual way, deed after deed, as far as there was
time; the last deed, which led to the new rest, may be any. How a step was left is not known
unless it was seen at rest and nothing more can have been done to it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Final

from scaled.core import set_down
from scaled.core.belief import Belief, Mode
from scaled.core.events import Verdict
from scaled.core.food import Move, Successor
from scaled.core.gesture import FINE_G, GESTURE_SPREAD, STEP_SPREAD, intent
from scaled.core.moves import successors
from scaled.core.share import Share
from scaled.core.verdict import normal_cdf

if TYPE_CHECKING:
    from scaled.core.plan import Plan
    from scaled.core.rest import Rest

WAITS: Final = 0.3
"""A cook who sees that the scale is not read does nothing, or finishes one deed, and waits."""
BEGUN_S: Final = 0.5
"""The first deed may have been under way: it takes so long at least. Each further one takes,"""
MORE_S: Final = 2.0
"""... with the pause before it, for one more gesture,"""
NEXT_S: Final = 3.5
"""... for the first gesture of the next step,"""
LIFT_S: Final = 2.5
"""... to carry the build off,"""
BACK_S: Final = 2.0
"""... to set it back,"""
PLACE_S: Final = 6.0
"""... to set down the next container."""
PACE_SPREAD: Final = 0.5
"""Standard deviation of the logarithm of how much longer a cook takes than usual."""
LONGEST_S: Final = 60.0
"""Nobody tries to follow a cook for longer."""
NEVER: Final = 1e-4
"""Less probable places are not looked at."""
AT_ONCE_S: Final = 0.3
"""A rest that began so soon after readings came again was there already."""
CORRECTED_S: Final = 2.5
"""In so much time a portion that looked finished can have got a little more, or less, and the
next deed been done,"""
CORRECTION: Final = 0.025
"""... which leaves it this uncertain, as a share of its target: few are corrected, by a few %."""
P_ODD: Final = 0.05
"""One of several deeds was an unusual one: they are unexplained, up to ``ODD_G`` either way."""
ODD_G: Final = 300.0
STILL: Final = frozenset({Move.SAME, Move.PRESSED})
"""Moves that are no deed."""
TOLD: Final = frozenset({Move.LIFTED, Move.PLACED})
"""Moves that are told though they were not the only ones."""


def meanings(
    belief: Belief, rest: Rest, plan: Plan, last_g: float | None, least: float
) -> Iterable[Successor]:
    """Everything the new rest may mean, also if more than one deed led to it.

    Args:
        belief: What was believed before it.
        rest: The rest.
        plan: What the build should be.
        last_g: Level of the rest before it.
        least: Densities below this are hopeless and left out.
    """
    if not rest.unseen_s:
        return successors(belief, rest, plan, last_g, least)
    return _unseen(belief, rest, plan, last_g, least)


def _unseen(
    belief: Belief, rest: Rest, plan: Plan, last_g: float | None, least: float
) -> Iterator[Successor]:
    """Everything it may mean when readings were missing before it."""
    course = list(_course(belief, rest, plan))
    none, one, *more = _chances(rest, [took_s for took_s, _ in course])
    for density, after, move in successors(belief, rest, plan, last_g, least):
        yield (
            (none if move in STILL else one) * density,
            _corrected(belief, after, rest, plan),
            move,
        )
    if belief.mode is Mode.ON:
        odd = sum(more) * P_ODD / ODD_G / 2
        yield odd, belief.unexplained(rest.level_g), Move.UNKNOWN
    for chance, (_, unseen) in zip(more, course, strict=False):
        if chance > NEVER:
            for density, after, move in _last_deed(unseen, rest, plan, least / chance):
                yield chance * density, _corrected(belief, after, rest, plan), move


def _last_deed(unseen: Belief, rest: Rest, plan: Plan, least: float) -> Iterator[Successor]:
    """What led to the new rest from a place that nobody saw.

    A build that came and went unseen is not told of: nothing can be said of it.
    """
    for density, after, move in successors(unseen, rest, plan, None, least):
        if move not in STILL and not (unseen.fresh and move is Move.LIFTED):
            yield density, _left(unseen, after), move if move in TOLD else Move.UNKNOWN


def _chances(rest: Rest, took_s: Sequence[float]) -> list[float]:
    """Probability that just so many deeds were done, from none on; two or more numbers.

    Args:
        rest: The new rest.
        took_s: How long it usually takes to each place of the course, ascending.
    """
    unseen_s = min(rest.unseen_s, LONGEST_S)
    reached = [1.0]
    for usual_s in took_s:
        in_time = normal_cdf(math.log(unseen_s / usual_s) / PACE_SPREAD)
        waits = WAITS / 2 if len(reached) == 1 else 0.0
        reached.append((1 - WAITS) * in_time + waits)
    chances = [one - other for one, other in pairwise([*reached, 0.0])]
    if rest.again_s > AT_ONCE_S or len(chances) == 1:
        # The last deed was seen; those before it were not.
        return [chances[0], *chances]
    return chances


def _course(belief: Belief, rest: Rest, plan: Plan) -> Iterator[tuple[float, Belief]]:
    """The usual way on from a belief: how long it usually takes to each place, and the place."""
    now = _next_place(belief, rest, plan)
    took_s = BEGUN_S
    while now is not None and took_s < LONGEST_S:
        yield took_s, now[1]
        before, now = now[1], _next_place(now[1], rest, plan)
        if now is not None:
            took_s += now[0]
            now = now[0], _left(before, now[1])


def _next_place(belief: Belief, rest: Rest, plan: Plan) -> tuple[float, Belief] | None:
    """The usual next deed and how long it takes; None when nothing can be said of it."""
    if belief.mode is Mode.ON:
        return _next_deed(belief, plan)
    if belief.mode is Mode.OFF and plan.here(belief.to_come):
        return BACK_S, belief._replace(mode=Mode.ON)
    if belief.mode is Mode.REPORTED or belief.fresh:
        return None
    return PLACE_S, _set_down(belief, rest, plan)


def _next_deed(belief: Belief, plan: Plan) -> tuple[float, Belief] | None:
    """One more gesture, the next step begun, or the build carried off."""
    aim = plan.aim(belief.group)
    planned = max(aim.scoops - belief.gestures, 0)
    if planned or intent(aim, belief.net_g, belief.gestures).done < 0.5:
        return MORE_S, _fed(belief, plan)
    to_come = plan.here(belief.to_come)
    if to_come:
        return NEXT_S, _fed(belief.opened(to_come[:1]), plan)
    return None if belief.fresh else (LIFT_S, belief.lifted())


def _fed(belief: Belief, plan: Plan) -> Belief:
    """One gesture more; the last planned one makes the portion what it should be."""
    aim = plan.aim(belief.group)
    fed = belief._replace(gestures=belief.gestures + 1)
    if fed.gestures >= aim.scoops:
        target_g = aim.band.target_g
        u_g = math.hypot(belief.start_u_g, STEP_SPREAD * target_g + FINE_G)
        return fed.at(belief.start_g + target_g, u_g)
    u_g = math.hypot(belief.level_u_g, GESTURE_SPREAD * aim.scoop_g + FINE_G)
    return fed.at(belief.level_g + aim.scoop_g, u_g)


def _set_down(belief: Belief, rest: Rest, plan: Plan) -> Belief:
    """The next container on the free pan."""
    own = plan.containers.own
    ended = belief.end() if belief.mode is Mode.OFF else None
    alone = rest._replace(level_g=belief.zero_g + own.tare_g, u_g=own.spread_g)
    return set_down.started(belief, alone, len(plan.steps), ended)._replace(weighed=False)


def _corrected(before: Belief, after: Belief, rest: Rest, plan: Plan) -> Belief:
    """Count in what may have been done to the open step in the meantime, if it was left.

    A correction that nobody saw makes no good portion bad, but what was bad may be good now.
    """
    if rest.unseen_s < CORRECTED_S or _stays(before, after) or not before.gestures:
        return after
    band = plan.aim(before.group).band
    if band.judge(before.net_g) is not Verdict.PASS:
        return _left(before, after)
    step, more_u_g = before.group[0], CORRECTION * band.target_g + FINE_G / 2
    ended = after.ended
    if ended is not None and before.ended is None:
        shares = _vaguer(ended.shares, step, more_u_g)
        u_g = math.hypot(ended.total_u_g, more_u_g)
        return after._replace(ended=ended._replace(shares=shares, total_u_g=u_g))
    closed = _vaguer(after.closed, step, more_u_g)
    if closed == after.closed:
        return after._replace(level_u_g=math.hypot(after.level_u_g, more_u_g))
    if step not in closed[-1].group:
        return after._replace(closed=closed)
    return after._replace(closed=closed, start_u_g=math.hypot(after.start_u_g, more_u_g))


def _vaguer(shares: tuple[Share, ...], step: int, more_u_g: float) -> tuple[Share, ...]:
    return tuple(
        s._replace(u_g=math.hypot(s.u_g, more_u_g)) if step in s.group else s for s in shares
    )


def _left(before: Belief, after: Belief) -> Belief:
    """Doubt how a step was left, and where the one after it began, if it was left."""
    if _stays(before, after):
        return after
    step = before.group[0]
    if after.ended is not None and before.ended is None:
        return after._replace(ended=after.ended._replace(shares=_doubt(after.ended.shares, step)))
    return after._replace(closed=_doubt(after.closed, step), clear=False, strange=True)


def _stays(before: Belief, after: Belief) -> bool:
    """Whether the step that was open still is, or none was."""
    here = after.mode is Mode.ON and after.group == before.group and after.fresh == before.fresh
    return here or before.mode is not Mode.ON


def _doubt(shares: tuple[Share, ...], step: int) -> tuple[Share, ...]:
    return tuple(s._replace(clear=False) if step in s.group else s for s in shares)
