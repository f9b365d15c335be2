"""From what the tracker believes to the words the journal keeps: portions and builds."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from scaled.core.events import Attribution, Finished, Portion, Verdict
from scaled.core.verdict import Band

if TYPE_CHECKING:
    from scaled.core.belief import Ended, Share
    from scaled.core.plan import Plan

SURE: Final = 0.90
"""Least probability of an attribution that is called sure."""
ALIKE_TOTAL_G: Final = 0.5
"""Finished weights this close are the same outcome."""
LEAST_U_G: Final = 1e-6
"""Keeps the conformance probability defined for an ideal scale."""


def portion(
    step: int, share: Share | None, mass: float, plan: Plan, at: tuple[float, int]
) -> Portion:
    """The final word on a step.

    Args:
        step: Index of the step.
        share: Its likeliest outcome, None when nothing was added for it.
        mass: Probability of that outcome.
        plan: What the build should be.
        at: Time of the reading and number of the build.
    """
    t, build = at
    name = plan.steps[step]
    if mass < SURE or (share is not None and _doubtful(share, plan)):
        return Portion(
            t=t, build=build, step=name, net_g=None, u_g=None, verdict=Verdict.UNSURE,
            confidence=mass, attribution=Attribution.UNSURE,
        )  # fmt: skip
    if share is None or share.net_g == 0.0:
        return Portion(
            t=t, build=build, step=name, net_g=0.0, u_g=0.0, verdict=Verdict.UNDER,
            confidence=mass, attribution=Attribution.SURE, skipped=True,
        )  # fmt: skip
    band = plan.aim(share.group).band
    verdict, confidence = judge(band, share.net_g, share.u_g)
    if len(share.group) == 1:
        return Portion(
            t=t, build=build, step=name, net_g=share.net_g, u_g=share.u_g, verdict=verdict,
            confidence=mass * confidence, attribution=Attribution.SURE,
        )  # fmt: skip
    others = tuple(plan.steps[i] for i in share.group if i != step)
    return Portion(
        t=t, build=build, step=name, net_g=share.net_g, u_g=share.u_g, verdict=Verdict.UNSURE,
        confidence=mass, attribution=Attribution.JOINT, joint_with=others,
    )  # fmt: skip


def _doubtful(share: Share, plan: Plan) -> bool:
    """Whether something is unexplained, or the weight is known worse than the tolerance."""
    band = plan.aim(share.group).band
    return not share.clear or share.u_g > (band.high_g - band.low_g) / 2


def finished(
    ended: Ended, mass: float, plan: Plan, at: tuple[float, int], duration_s: float
) -> Finished:
    """The final word on a build; unsure when its weight is not known for sure."""
    t, build = at
    verdict, confidence = judge(plan.finished, ended.total_g, ended.total_u_g)
    sure = mass >= SURE
    return Finished(
        t=t,
        build=build,
        net_g=ended.total_g if sure else None,
        u_g=ended.total_u_g if sure else None,
        verdict=verdict if sure else Verdict.UNSURE,
        confidence=mass * confidence if sure else mass,
        duration_s=duration_s,
    )


def judge(band: Band, net_g: float, u_g: float) -> tuple[Verdict, float]:
    """Verdict and the probability that the true weight supports it."""
    return band.judge(net_g), band.confidence(net_g, max(u_g, LEAST_U_G))
