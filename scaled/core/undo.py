"""What a person may mean who says that the step on the screen is in, not begun, or not done."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from scaled.core import by_hand
from scaled.core.belief import Belief, Mode
from scaled.core.certainty import SURE
from scaled.core.errors import CommandRefused
from scaled.core.guide import story

if TYPE_CHECKING:
    from collections.abc import Callable
    from collections.abc import Set as AbstractSet

    from scaled.core.guide import Guide
    from scaled.core.ledger import Ledger
    from scaled.core.track import Tracker, Weighed

CONCEIVABLE: Final = 0.1
"""When all others are less probable than this, nobody knows better than the order of steps."""
BEFORE: Final = 5.0
"""How much likelier than any other step the one before it is meant."""
SAME_G: Final = 0.001
"""Weights are compared at 1 mg."""


def step_back(shown: Belief, tracker: Tracker, guide: Guide, ledger: Ledger) -> tuple[int, ...]:
    """Take the open step for not begun, or else the last one that was said to be done for not.

    Args:
        shown: What the person saw.
        tracker: Learns it.
        guide: Learns it.
        ledger: Takes its last word back if need be.

    Returns:
        Steps whose final word was taken back.

    Raises:
        CommandRefused: There is no step before.
    """
    if not_begun(shown, tracker, guide, ledger.portions.keys()):
        return ()
    taken = ledger.reopen()
    if taken is None:
        if guide.confidence >= SURE:
            raise CommandRefused("undo", "no step of this build is done yet")
        # Nothing to undo, but an answer: the container stands there empty, whatever was doubted.
        _begin_anew(shown, tracker, guide)
        return ()
    group, then = taken
    not_done(group, then, shown, tracker, guide)
    return group


def not_begun(shown: Belief, tracker: Tracker, guide: Guide, said: AbstractSet[int]) -> bool:
    """Take the open step for not begun: what is in it belongs to another one.

    Args:
        shown: What the person saw.
        tracker: Learns it.
        guide: Learns it.
        said: Steps whose final word was said: they take no more.

    Returns:
        Whether there is a step that it can belong to.
    """
    before = _before(shown, said)
    like, meant = _like(before), _others(shown, said)
    if guide.probability(meant) < CONCEIVABLE:
        if not shown.clear:
            _begin_anew(shown, tracker, guide)
            return True
        if before is None:
            return False
        meant = like
        if not guide.probability(meant):
            guide.beliefs = ((1.0, before),)
    if not tracker.probability(meant):
        tracker.beliefs = guide.beliefs
    for one in (tracker, guide):
        one.condition(meant)
        one.weigh(lambda belief: BEFORE if like(belief) else 1.0)
    return True


def is_in(shown: Belief, tracker: Tracker, guide: Guide) -> None:
    """Take what is in the open step for food of it; whether it is enough is another question.

    Args:
        shown: What the person saw.
        tracker: Learns it; what was unexplained there stays so.
        guide: Learns it.
    """
    stands = _stands_with(shown)
    for one in (tracker, guide):
        one.condition(lambda belief: stands(belief) and belief.gestures > 0)
    guide.change(lambda belief: belief._replace(clear=True))


def not_done(
    group: tuple[int, ...],
    then: tuple[Weighed, ...],
    shown: Belief,
    tracker: Tracker,
    guide: Guide,
) -> None:
    """Go back to the moment before a step was said to be done: all since counts into it.

    Args:
        group: The step, two when they were poured together.
        then: What was believed at that moment.
        shown: What the person saw.
        tracker: Learns it.
        guide: Learns it.
    """
    tracker.beliefs = then
    tracker.condition(lambda belief: belief.group == group)
    tracker.change(lambda belief: by_hand.reopened(belief, shown))
    guide.follow(tracker)


def _before(shown: Belief, said: AbstractSet[int]) -> Belief | None:
    """The same with all that is in the open step counted into the one before it."""
    step, passed = shown.group[-1], shown.passed
    if not shown.gestures or (len(shown.group) == 1 and not passed):
        joins = shown.closed and shown.closed[-1].group[0] not in said
        return by_hand.joined_back(shown) if joins else None
    group = shown.group[:-1] or passed[-1:]
    ahead = {step, *shown.ahead} - {*group}
    return shown._replace(group=group, ahead=tuple(sorted(ahead)))


def _begin_anew(shown: Belief, tracker: Tracker, guide: Guide) -> None:
    """Let the open step begin at the present weight: whatever changed that, it was not food.

    Where the zero lies and what the bowl weighs may be in doubt as before.
    """
    holds = _stands_with(shown)
    if not tracker.probability(holds):
        tracker.beliefs = guide.beliefs
    for one in (tracker, guide):
        one.condition(holds)
        one.change(_anew)


def _anew(belief: Belief) -> Belief:
    start_g, start_u_g = belief.level_g, belief.level_u_g
    return belief._replace(start_g=start_g, start_u_g=start_u_g, gestures=0, clear=True)


def _stands_with(shown: Belief) -> Callable[[Belief], bool]:
    """Whether a belief has the same step open at the same weight, in whichever build."""
    group, level_g = shown.group, shown.level_g

    def holds(belief: Belief) -> bool:
        here = belief.mode is Mode.ON and belief.group == group
        return here and abs(belief.level_g - level_g) <= SAME_G

    return holds


def _like(one: Belief | None) -> Callable[[Belief], bool]:
    """Whether a belief tells the same story of the same weight."""
    if one is None:
        return lambda _: False
    told, level_g = story(one), one.level_g
    return lambda belief: story(belief) == told and abs(belief.level_g - level_g) <= SAME_G


def _others(shown: Belief, said: AbstractSet[int]) -> Callable[[Belief], bool]:
    """Whether a belief explains the weight without the open step; none when nothing is in it."""
    step = shown.group[-1]

    def holds(belief: Belief) -> bool:
        here = belief.mode is Mode.ON and belief.fresh == shown.fresh
        if not here or abs(belief.level_g - shown.level_g) > SAME_G:
            return False
        begun = {i for share in belief.shares() for i in share.group}
        return step not in begun and not (belief.gestures and said & {*belief.group})

    return holds if shown.gestures else lambda _: False
