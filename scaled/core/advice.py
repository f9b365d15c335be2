"""The live state: where the build stands at this reading and the one thing to do next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from scaled.core.belief import Belief, Mode
from scaled.core.live import Ask, Live, Rung, StepState
from scaled.core.verdict import Band

if TYPE_CHECKING:
    from scaled.core.events import Portion
    from scaled.core.gesture import Aim
    from scaled.core.ledger import Ledger
    from scaled.core.plan import Plan

DOUBTFUL: Final = 0.60
"""Below this probability of the open step the screen asks for a look instead of guessing."""
SHORT_ENOUGH: Final = 0.85
"""A step this full may be done: weight that now moves is shown for the next one."""
MOVED: Final = 3.0
"""A change this large, in divisions, is food or a hand, not a flicker."""


@dataclass(frozen=True, slots=True)
class Scene:
    """All that the live state is made of.

    Attributes:
        best: The most probable belief, None before the first rest.
        confidence: Probability of where it says the build stands.
        plan: What the build should be.
        ledger: What has been said for good.
        t: Time of the reading, s.
        weight_g: Weight shown.
        resting: Whether the pan is at rest.
        division_g: Smallest displayed step.
    """

    best: Belief | None
    confidence: float
    plan: Plan
    ledger: Ledger
    t: float
    weight_g: float
    resting: bool
    division_g: float


def live(scene: Scene) -> Live:
    """The build as it stands."""
    best = scene.best
    if best is None or best.mode is Mode.EMPTY:
        return _live(scene, Ask.PLACE, None, 0.0, 0.0)
    if best.mode is Mode.REPORTED:
        return _live(scene, Ask.LIFT, None, 0.0, 0.0)
    if best.mode is Mode.OFF:
        done = complete(best, scene.plan) or passed_on(best, scene.plan)
        return _live(scene, Ask.PLACE if done else Ask.RETURN, best.group, best.net_g, best.food_g)
    group, net = _shown(scene, best)
    ask = _ask(scene, best, group, net)
    return _live(scene, ask, group, net, scene.weight_g - best.base_g)


def complete(belief: Belief, plan: Plan) -> bool:
    """Whether every step has its food and the last one is not short."""
    if belief.ahead or not belief.gestures:
        return False
    return not belief.clear or belief.net_g >= plan.aim(belief.group).band.low_g


def passed_on(belief: Belief, plan: Plan) -> bool:
    """Whether all that is done at this position has its food, and later ones are to go on."""
    coming = belief.ahead if belief.gestures else belief.group
    if plan.beyond.isdisjoint(coming[:1]):
        return False
    enough = belief.net_g >= plan.aim(belief.group).band.low_g
    return enough or not belief.gestures or not belief.clear


def ladder(scene: Scene, shown: tuple[int, ...] | None, net_g: float) -> tuple[Rung, ...]:
    """Every step with what is known of it.

    Args:
        scene: The moment.
        shown: The step being filled, two when they are poured together.
        net_g: Weight in it so far.
    """
    best = scene.best
    nets = {i: share.net_g for share in (best.closed if best else ()) for i in share.group}
    if best is not None and best.gestures:
        nets |= dict.fromkeys(best.group, best.net_g)
    nets |= dict.fromkeys(shown or (), net_g)
    rungs = []
    for i, name in enumerate(scene.plan.steps):
        said = scene.ledger.portions.get(i)
        if said is not None:
            rungs.append(_done(said))
        else:
            state = StepState.OPEN if i in nets else StepState.TODO
            rungs.append(Rung(name, state, nets.get(i)))
    return tuple(rungs)


def _done(said: Portion) -> Rung:
    return Rung(
        said.step,
        StepState.DONE,
        said.net_g,
        said.verdict,
        said.attribution,
        said.skipped,
        said.doubt,
    )


def _shown(scene: Scene, best: Belief) -> tuple[tuple[int, ...], float]:
    """The step to show and its weight: while food moves, perhaps already the next one."""
    change = 0.0 if scene.resting else scene.weight_g - best.level_g
    if change > MOVED * scene.division_g and _may_be_done(scene.plan.aim(best.group), best):
        ahead = best.ahead
        if ahead:
            return ahead[:1], change
    return best.group, best.net_g + change


def _may_be_done(aim: Aim, belief: Belief) -> bool:
    if belief.gestures < aim.scoops:
        return belief.gestures > 0 and belief.net_g >= aim.band.low_g
    return belief.net_g >= min(aim.band.low_g, SHORT_ENOUGH * aim.band.target_g)


def _ask(scene: Scene, best: Belief, group: tuple[int, ...], net_g: float) -> Ask:
    if scene.confidence < DOUBTFUL or not best.clear:
        return Ask.CHECK
    if not best.gestures and passed_on(best, scene.plan):
        return Ask.HAND_OVER
    band = scene.plan.rule.goal(scene.plan.aim(group).band, best.net_u_g)
    if net_g < band.low_g:
        falls = scene.weight_g < best.level_g - MOVED * scene.division_g
        return Ask.WAIT if falls and not scene.resting else Ask.ADD
    if net_g > band.high_g:
        return Ask.TAKE_BACK if scene.resting else Ask.WAIT
    left = [step for step in best.ahead if step not in group]
    if not left:
        return Ask.LIFT
    return Ask.HAND_OVER if left[0] in scene.plan.beyond else Ask.NEXT


def _live(
    scene: Scene, ask: Ask, group: tuple[int, ...] | None, net_g: float, total_g: float
) -> Live:
    best, plan = scene.best, scene.plan
    aim = plan.aim(group) if group else None
    amount = abs(aim.band.target_g - net_g) if aim and ask in {Ask.ADD, Ask.TAKE_BACK} else 0.0
    ahead = best.ahead if best is not None and group else ()
    after = next((i for i in ahead if i not in (group or ())), None)
    u_g = best.net_u_g if best is not None else 0.0
    band = plan.rule.goal(aim.band, u_g) if aim else Band(0.0, 0.0, 0.0)
    return Live(
        t=scene.t,
        build=scene.ledger.number,
        ask=ask,
        step=plan.steps[group[-1]] if group else None,
        joint_with=tuple(plan.steps[i] for i in group[:-1]) if group else (),
        net_g=net_g,
        u_g=plan.rule.judge(band, net_g, u_g).u_g,
        settled=scene.resting,
        amount_g=amount,
        scoops=max(1, round(amount / aim.scoop_g)) if aim and ask is Ask.ADD else 0,
        low_g=band.low_g,
        target_g=band.target_g,
        high_g=band.high_g,
        next_step=None if after is None else plan.steps[after],
        confidence=scene.confidence,
        pan_g=scene.weight_g - (best.zero_g if best is not None else 0.0),
        total_net_g=total_g,
        ladder=ladder(scene, group, net_g),
        odd=scene.ledger.odd if group else None,
        doubt=plan.rule.judge(aim.band, aim.band.target_g, u_g).doubt if aim else None,
    )
