"""From what the tracker believes to the words the journal keeps: portions and builds."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final, NamedTuple

from scaled.core.certainty import AS_WRITTEN, SURE
from scaled.core.events import Attribution, Finished, Portion, Verdict

if TYPE_CHECKING:
    from scaled.core.certainty import Asked
    from scaled.core.plan import Plan
    from scaled.core.share import Ended, Share

ALIKE_TOTAL_G: Final = 0.5
"""Finished weights this close are the same outcome."""
DRAUGHT_G: Final = 0.1
"""Standard uncertainty from slow draughts and creep, which a look of a second or two takes for
the weight: nothing beside a portion, but not beside a fine scale's division."""
CRUMBS_G: Final = 0.25
"""What falls from the fingers early or late: standard uncertainty of where such a portion ends."""
COARSE: Final = 2.0
"""A weight this much worse known than the scale could is worse known for another reason."""


class Outcome(NamedTuple):
    """What a step came to, most probably.

    Attributes:
        mass: Probability that it did.
        share: What was added; None when nothing was.
        amiss: Probability that the step is surely no good, whatever it came to.
        asked: How probable what is said of it must be.
    """

    mass: float
    share: Share | None
    amiss: float
    asked: Asked = AS_WRITTEN

    def verdict(self, plan: Plan) -> Verdict:
        """What it deserves, however probable it is; unsure when several steps share it."""
        if self.share is None or self.share.net_g == 0.0:
            return Verdict.UNDER
        if len(self.share.group) > 1:
            return Verdict.UNSURE
        band = plan.aim(self.share.group).band
        return plan.rule.word(band, self.share.net_g, self.share.u_g)


def portion(step: int, outcome: Outcome, plan: Plan, at: tuple[float, int]) -> Portion:
    """The final word on a step.

    Args:
        step: Index of the step.
        outcome: What it came to.
        plan: What the build should be.
        at: Time of the reading and number of the build.
    """
    t, build = at
    name = plan.steps[step]
    mass, share = outcome.mass, outcome.share
    if share is not None and _doubtful(share, plan):
        return _unsure(name, mass, at)
    if share is None or share.net_g == 0.0:
        if mass < outcome.asked.left_out:
            return _unsure(name, mass, at)
        return Portion(
            t=t, build=build, step=name, net_g=0.0, u_g=0.0, verdict=Verdict.UNDER,
            confidence=mass, attribution=Attribution.SURE, skipped=True,
        )  # fmt: skip
    aim = plan.aim(share.group)
    u_g = math.hypot(share.u_g, CRUMBS_G if aim.loose else 0.0, DRAUGHT_G)
    said = plan.rule.judge(aim.band, share.net_g, u_g)
    if not _is_sure(outcome, said.verdict):
        return _unsure(name, mass, at)
    if len(share.group) == 1:
        return Portion(
            t=t, build=build, step=name, net_g=share.net_g, u_g=said.u_g, verdict=said.verdict,
            confidence=mass * said.confidence, attribution=Attribution.SURE,
            u_scale_g=said.u_scale_g, doubt=said.doubt,
        )  # fmt: skip
    others = tuple(plan.steps[i] for i in share.group if i != step)
    return Portion(
        t=t, build=build, step=name, net_g=share.net_g, u_g=said.u_g, verdict=Verdict.UNSURE,
        confidence=mass, attribution=Attribution.JOINT, joint_with=others,
        u_scale_g=said.u_scale_g,
    )  # fmt: skip


def _is_sure(outcome: Outcome, verdict: Verdict) -> bool:
    """Whether food that is judged like this is probable enough to be said."""
    mass, share, amiss, asked = outcome
    if share is not None and len(share.group) > 1:
        return mass >= SURE
    return mass >= asked.of(verdict) and not (verdict is Verdict.PASS and amiss > asked.most_amiss)


def _unsure(name: str, mass: float, at: tuple[float, int]) -> Portion:
    t, build = at
    return Portion(
        t=t, build=build, step=name, net_g=None, u_g=None, verdict=Verdict.UNSURE,
        confidence=mass, attribution=Attribution.UNSURE,
    )  # fmt: skip


def _doubtful(share: Share, plan: Plan) -> bool:
    """Whether something is unexplained, or the weight is known to nothing like the tolerance.

    What the scale itself cannot tell better is no doubt about where the food went.
    """
    band = plan.aim(share.group).band
    known_u_g = max(band.width_g, COARSE * plan.rule.best_u_g(band))
    return not share.clear or share.u_g > known_u_g


def likeliest_whole(ends: list[tuple[float, Ended]], plan: Plan) -> tuple[float, Ended]:
    """The most probable end of a build and its probability.

    Ends that weigh alike are one. When that is not sure, all that give the verdict are, and how
    far they lie from the likeliest counts into its uncertainty.

    Args:
        ends: Probability and end, most probable first.
        plan: What the build should be.
    """
    best = ends[0][1]
    near = ALIKE_TOTAL_G + best.total_u_g
    alike = sum(mass for mass, end in ends if abs(end.total_g - best.total_g) <= near)
    if alike >= SURE:
        return alike, best
    verdict = plan.finished.judge(best.total_g)
    same = [(mass, end) for mass, end in ends if plan.finished.judge(end.total_g) is verdict]
    total = sum(mass for mass, _ in same)
    spread = sum(
        mass * (end.total_u_g**2 + (end.total_g - best.total_g) ** 2) for mass, end in same
    )
    return total, best._replace(total_u_g=math.sqrt(spread / total))


def finished(
    ended: Ended, mass: float, plan: Plan, at: tuple[float, int], duration_s: float
) -> Finished:
    """The final word on a build; unsure when its weight is not known for sure."""
    t, build = at
    if mass < SURE or ended.total_u_g > plan.finished.width_g / 2:
        return Finished(
            t=t, build=build, net_g=None, u_g=None, verdict=Verdict.UNSURE, confidence=mass,
            duration_s=duration_s,
        )  # fmt: skip
    said = plan.rule.judge(plan.finished, ended.total_g, math.hypot(ended.total_u_g, DRAUGHT_G))
    return Finished(
        t=t, build=build, net_g=ended.total_g, u_g=said.u_g, verdict=said.verdict,
        confidence=mass * said.confidence, duration_s=duration_s, u_scale_g=said.u_scale_g,
        doubt=said.doubt,
    )  # fmt: skip
