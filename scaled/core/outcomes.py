"""What each step of a build that is over came to, and how sure that must be to be said."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from scaled.core.certainty import as_written, asked
from scaled.core.events import Verdict
from scaled.core.likeliest import likeliest_share
from scaled.core.report import Outcome

if TYPE_CHECKING:
    from collections.abc import Mapping

    from scaled.core.events import Portion
    from scaled.core.plan import Plan
    from scaled.core.share import Ended, Share

_FAULTS: Final = frozenset({Verdict.UNDER, Verdict.OVER})


def outcomes(
    ends: list[tuple[float, Ended]], said: Mapping[int, Portion], plan: Plan, *, cut: bool
) -> dict[int, Outcome]:
    """The likeliest outcome of each step of which nothing was said yet.

    Args:
        ends: How the build may have ended, with probabilities, most probable first.
        said: Final words by step index.
        plan: What the build should be.
        cut: The stream ended, and more might have come.
    """
    steps = tuple(range(len(plan.steps)))
    plain = as_written(ends[0][1].shares, 0 if cut else len(plan.here(steps)))
    found = {
        step: Outcome(*likeliest_share(ends, step, _shares, plan))
        for step in steps
        if step not in said
    }
    return asking(found, said, plan, plain=plain)


def asking(
    found: Mapping[int, Outcome], said: Mapping[int, Portion], plan: Plan, *, plain: bool
) -> dict[int, Outcome]:
    """The same outcomes with how sure each must be to be said.

    Args:
        found: The outcomes by step index.
        said: Final words by step index.
        plan: What the build should be.
        plain: The build went as written.
    """
    verdicts = {step: outcome.verdict(plan) for step, outcome in found.items()}
    verdicts |= {step: word.verdict for step, word in said.items()}
    faults = {step for step, verdict in verdicts.items() if verdict in _FAULTS}
    return {
        step: outcome._replace(
            asked=asked(plain=plain, beside_fault=not faults.isdisjoint((step - 1, step + 1)))
        )
        for step, outcome in found.items()
    }


def _shares(end: Ended) -> tuple[Share, ...]:
    return end.shares
