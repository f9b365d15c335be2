"""The live state: where the build stands at this reading and the one thing to do next."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from scaled.core.belief import Belief, Mode
from scaled.core.completion import complete, passed_on
from scaled.core.good import good_band
from scaled.core.guide import Led, Story, story
from scaled.core.ladder import ladder, nets
from scaled.core.ledger import ODD
from scaled.core.live import Ask, Live, Provisional
from scaled.core.verdict import Band

if TYPE_CHECKING:
    from scaled.core.ledger import Ledger
    from scaled.core.level import Level
    from scaled.core.live import Odd
    from scaled.core.plan import Plan

DOUBTFUL: Final = 0.50
"""Below even odds for the open step the screen asks a question instead of guessing."""
LET_GO: Final = 0.85
"""Below this probability of its last step nobody is told to take a build away: it is asked."""
PLACED: Final = 0.80
"""Below this probability what was set down is no container for a build yet."""
MOVED: Final = 3.0
"""A change this large, in divisions, is food or a hand: it may show in the next step."""
FLICKER: Final = 1.5
"""What lies within so many divisions of the last rest is not called movement."""
LEANS_S: Final = 2.5
"""A hand on the bowl is soon gone again; a tool that leans on it longer is no reason to wait."""
IN_VAIN_S: Final = 20.0
"""Who has taken nothing back for this long perhaps cannot: it is another ingredient."""
NEARLY_U: Final = 1.5
"""What is not good by less than so many standard uncertainties may be, once it is known better."""


@dataclass(frozen=True, slots=True)
class Scene:
    """All that the live state is made of.

    Attributes:
        best: The most probable belief, None before the first rest.
        confidence: Probability of where it says the build stands.
        stands: Probability that a build stands on the pan at all.
        called_good: The screen called its open step good, and nothing was done to it since.
        asked_s: Since when the screen asks for the same, s.
        plan: What the build should be.
        ledger: What has been said for good.
        t: Time of the reading, s.
        weight_g: Weight shown.
        resting: Whether the pan is at rest.
        since_s: Time of its first reading at rest, s.
        firm: The level is as well known as this rest will make it.
        left: The pan moves, and the weight was seen away from where it rested.
        coming: Where the weight seems to come to rest, None when it rests or nobody knows.
        division_g: Smallest displayed step.
    """

    best: Belief | None
    confidence: float
    stands: float
    called_good: bool
    asked_s: float
    plan: Plan
    ledger: Ledger
    t: float
    weight_g: float
    resting: bool
    since_s: float
    firm: bool
    left: bool
    coming: Level | None
    division_g: float


def live(scene: Scene) -> Live:
    """The build as it stands."""
    best = scene.best
    if best is None or best.mode is Mode.EMPTY or _is_strange(scene, best):
        return _live(scene, _once_laid(scene, Ask.PLACE), None, 0.0, 0.0)
    if best.mode is Mode.REPORTED:
        return _live(scene, Ask.LIFT, None, 0.0, 0.0)
    if best.mode is Mode.OFF:
        ask = Ask.PLACE if _gone(scene, best) else Ask.RETURN
        return _live(scene, _once_laid(scene, ask), best.group, best.net_g, best.food_g)
    moves = _moves(scene, best)
    group, net = _shown(scene, best, scene.weight_g - best.level_g if moves else 0.0)
    ask = Ask.WAIT if moves else _ask(scene, best)
    return _live(scene, ask, group, net, best.food_g + net - best.net_g)


def led(scene: Scene) -> Led | None:
    """What a cook does next who obeys the screen at this rest; None while it has no new word."""
    best = scene.best
    if best is None or best.mode is Mode.REPORTED:
        return Led()
    if best.mode is Mode.EMPTY or _is_strange(scene, best):
        return Led(places=True)
    if best.mode is Mode.OFF:
        gone = _gone(scene, best)
        return Led(() if gone else (story(best),), places=gone, good=scene.called_good)
    if _moves(scene, best):
        return None
    return _led_on_pan(story(best), _ask(scene, best), best.ahead[:1])


def _led_on_pan(now: Story, ask: Ask, following: tuple[int, ...]) -> Led | None:
    match ask:
        case Ask.WAIT:
            return None
        case Ask.NEXT:
            return Led(((*now, following),), good=True)
        case Ask.LIFT | Ask.HAND_OVER:
            return Led((now,), lifts=True, good=True)
        case Ask.ADD | Ask.TAKE_BACK:
            return Led((now,))
    return Led()


def _gone(scene: Scene, best: Belief) -> bool:
    """Whether a build that was lifted off is not waited for here."""
    plan = scene.plan
    let_go = scene.called_good and not plan.here(best.ahead[:1])
    return let_go or complete(best, plan) or passed_on(best, plan)


def _is_strange(scene: Scene, best: Belief) -> bool:
    """Whether what stands on the pan may just as well be no container for a build."""
    return best.mode is Mode.ON and best.fresh and scene.stands < PLACED


def _once_laid(scene: Scene, ask: Ask) -> Ask:
    """The ask, or to wait until what was just laid on the bare pan has come to rest."""
    zero_g = 0.0 if scene.best is None else scene.best.zero_g
    laid_g = scene.weight_g - zero_g
    return Ask.WAIT if laid_g > MOVED * scene.division_g and not scene.resting else ask


def _moves(scene: Scene, best: Belief) -> bool:
    """Whether the weight moves, and does more than flicker, or a hand holds it for a moment."""
    off = abs(scene.weight_g - best.level_g) > FLICKER * scene.division_g
    if scene.resting:
        return off and scene.t - scene.since_s < LEANS_S
    return scene.left or off


def _shown(scene: Scene, best: Belief, change_g: float) -> tuple[tuple[int, ...], float]:
    """The step to show and its weight: while food moves, perhaps already the next one."""
    if best.net_g + change_g < 0:
        return best.group, best.net_g  # more than was in it cannot be taken: the bowl is lifted
    if change_g > MOVED * scene.division_g and _ask(scene, best) is Ask.NEXT:
        return best.ahead[:1], change_g
    return best.group, best.net_g + change_g


def _provisional(scene: Scene, net_g: float) -> Provisional | None:
    """Where the weight shown for the step is going."""
    best, coming = scene.best, scene.coming
    if coming is None or best is None or best.mode is not Mode.ON:
        return None
    net_g += coming.level_g - scene.weight_g
    return Provisional(net_g, math.hypot(coming.u_g, best.start_u_g))


def _ask(scene: Scene, best: Belief) -> Ask:
    """What to do next with the build at rest on the pan.

    Of two steps that share one weight the screen asks whether both are in: nobody who was asked
    for one pours two, and one heaped up twice over looks the same.
    """
    if _is_doubtful(scene, best) or len(best.group) > 1:
        return _question(scene)
    if not best.gestures and passed_on(best, scene.plan):
        return Ask.HAND_OVER
    good = _good(scene, best)
    if not good.low_g <= best.net_g <= good.high_g:
        return _correction(scene, best, good)
    if not best.ahead:
        return Ask.LIFT if scene.confidence >= LET_GO else _question(scene)
    return Ask.HAND_OVER if best.ahead[0] in scene.plan.beyond else Ask.NEXT


def _is_doubtful(scene: Scene, best: Belief) -> bool:
    """Whether it is not clear what the open step is, or what came into it."""
    return scene.confidence < DOUBTFUL or not best.clear


def asks_whether_in(scene: Scene) -> bool:
    """Whether the screen asks if a step is in that, if it is, needs more or less of it.

    Not where its weight is known to no better than the tolerance: then nothing follows from it.
    """
    best = scene.best
    if best is None or best.mode is not Mode.ON or not best.gestures or len(best.group) > 1:
        return False
    good = _good(scene, best)
    known = best.net_u_g <= scene.plan.aim(best.group).band.width_g / 2
    amiss = not good.low_g <= best.net_g <= good.high_g
    return known and amiss and _is_doubtful(scene, best) and _ask(scene, best) is Ask.CHECK


def _good(scene: Scene, best: Belief) -> Band:
    return good_band(best, scene.plan, scene.division_g, called_good=scene.called_good)


def _question(scene: Scene) -> Ask:
    """To ask the cook, once a longer rest has not made it clear by itself."""
    return Ask.CHECK if scene.firm else Ask.WAIT


def _correction(scene: Scene, best: Belief, good: Band) -> Ask:
    """What brings the open step into what is good, once it is clear that it must be brought."""
    short_g = good.low_g - best.net_g
    off_g = max(short_g, best.net_g - good.high_g)
    if not scene.firm and off_g < NEARLY_U * best.net_u_g:
        return Ask.WAIT
    if short_g > 0:
        return Ask.ADD
    in_vain_s = scene.t - max(scene.since_s, scene.asked_s)
    return Ask.CHECK if in_vain_s >= IN_VAIN_S and best.closed else Ask.TAKE_BACK


def _odd(scene: Scene, best: Belief | None) -> Odd | None:
    """What the build stands in, if that is not right: as was said, or before any food is in."""
    said = scene.ledger.odd
    if said or best is None or best.mode is not Mode.ON or best.shares():
        return said
    if not (scene.resting and scene.firm):
        return None  # a hand may still hold it
    weight_g, u_g = best.tare_g, best.tare_u_g
    containers = scene.plan.containers
    wrong = best.weighed and containers.wrongness(weight_g, u_g) >= ODD
    return containers.odd(weight_g, u_g) if wrong else None


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
        provisional=_provisional(scene, net_g) if group else None,
        amount_g=amount,
        scoops=max(1, round(amount / aim.scoop_g)) if aim and ask is Ask.ADD else 0,
        low_g=band.low_g,
        target_g=band.target_g,
        high_g=band.high_g,
        next_step=None if after is None else plan.steps[after],
        confidence=scene.confidence,
        pan_g=scene.weight_g - (best.zero_g if best is not None else 0.0),
        total_net_g=total_g,
        ladder=ladder(plan.steps, scene.ledger.portions, nets(best, group, net_g)),
        odd=_odd(scene, best) if group else None,
        doubt=plan.rule.judge(aim.band, aim.band.target_g, u_g).doubt if aim else None,
    )
