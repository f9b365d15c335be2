"""What a step came to: what differs by crumbs alone is the same outcome."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING, Final, NamedTuple, TypeVar

from scaled.core.verdict import COVERAGE

if TYPE_CHECKING:
    from scaled.core.plan import Plan
    from scaled.core.share import Share
    from scaled.core.track import Weighed

COVERED: Final = 0.95
"""Share of the probability that U = 2 u covers (JCGM 100:2008, 6.3.3)."""

FAR: Final = 4.0
"""So many standard uncertainties hold nearly all of it:"""
NEARLY_ALL: Final = 0.997
"""... this share. A normal distribution has more there; what tells whose food it was has longer
tails."""

T = TypeVar("T")


class Likeliest(NamedTuple):
    """The most probable outcome of a step.

    Attributes:
        mass: Its probability.
        share: What was added; None: nothing was added for the step.
        amiss: Probability that the step is surely no good: that nothing was added for it, or
            that it alone holds what should not pass (:meth:`DecisionRule.no_good`).
    """

    mass: float
    share: Share | None
    amiss: float


def likeliest_share(
    weighed: Iterable[tuple[float, T]],
    step: int,
    shares: Callable[[T], tuple[Share, ...]],
    plan: Plan,
) -> Likeliest:
    """The most probable outcome of a step.

    Outcomes are the same when the same steps share the weight and the verdict is the same. The
    weight is the likeliest one; the others count in its uncertainty: U = 2 u reaches over as
    many of them as 95 % of the probability takes, the nearest first (JCGM 100:2008, 6.2.1), and
    4 u over as many as 99.7 % takes; but for that it never becomes wider than the tolerance, so
    that what is surely far off is said to be.

    Args:
        weighed: Probability and what may be true, most probable first.
        step: Index of the step.
        shares: The closed steps of one of them.
        plan: What the build should be.
    """
    masses: dict[Share | None, float] = {}  # most beliefs have closed the step alike
    for chance, it in weighed:
        share = _share_of(step, shares(it))
        masses[share] = masses.get(share, 0.0) + chance
    outcomes: dict[object, list[tuple[float, Share | None]]] = {}
    for share, mass in masses.items():
        outcomes.setdefault(outcome(share, plan), []).append((mass, share))
    likeliest = max(outcomes.values(), key=_mass)
    amiss = sum(mass for share, mass in masses.items() if _is_amiss(share, plan))
    return Likeliest(_mass(likeliest), _mixed(likeliest, plan), amiss)


def is_sure(likeliest: Share, weighed: Iterable[Weighed], plan: Plan, least: float) -> bool:
    """Whether beliefs of at least this probability closed a step alike.

    Args:
        likeliest: How it was closed in the most probable belief.
        weighed: Probability and belief, most probable first: of most steps that are not sure the
            first few tell.
        plan: What the build should be.
        least: The probability.
    """
    step, said = likeliest.group[0], outcome(likeliest, plan)
    doubt = 0.0
    for chance, belief in weighed:
        if likeliest not in belief.closed and outcome_of(step, belief.closed, plan) != said:
            doubt += chance
            if doubt > 1 - least:
                return False
    return True


def outcome_of(step: int, shares: tuple[Share, ...], plan: Plan) -> object:
    """The outcome of a step among closed ones."""
    return outcome(_share_of(step, shares), plan)


def outcome(share: Share | None, plan: Plan) -> object:
    """What two shares have in common when they are the same outcome; None: nothing was added."""
    if share is None:
        return None
    word = plan.rule.word(plan.aim(share.group).band, share.net_g, share.u_g)
    return share.group, share.clear, word


def _mass(outcome: Iterable[tuple[float, Share | None]]) -> float:
    return sum(mass for mass, _ in outcome)


def _is_amiss(share: Share | None, plan: Plan) -> bool:
    if share is None or share.net_g == 0.0:
        return True
    band = plan.aim(share.group).band
    return len(share.group) == 1 and plan.rule.no_good(band, share.net_g, share.u_g)


def _share_of(step: int, shares: tuple[Share, ...]) -> Share | None:
    return next((share for share in shares if step in share.group), None)


def _mixed(outcome: list[tuple[float, Share | None]], plan: Plan) -> Share | None:
    _, likeliest = max(outcome, key=lambda pair: pair[0])
    if likeliest is None:
        return None
    total = _mass(outcome)
    apart = sorted(
        (abs(share.net_g - likeliest.net_g), share.u_g, mass) for mass, share in outcome if share
    )
    widest_g = plan.aim(likeliest.group).band.width_g
    covered, reach_g, u_g = 0.0, 0.0, 0.0
    for off_g, own_u_g, mass in apart:
        if covered >= NEARLY_ALL * total:
            break
        reach_g = max(reach_g, off_g + COVERAGE * own_u_g)
        if covered < COVERED * total:
            u_g = reach_g / COVERAGE
        else:
            u_g = max(u_g, min(reach_g / FAR, widest_g))
        covered += mass
    return likeliest._replace(u_g=u_g)
