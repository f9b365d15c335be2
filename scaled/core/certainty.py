"""How probable the outcome of a step must be before it is said.

The figures come from simulated cooks: of what was believed just this much, one word in fifteen
was wrong, whatever was said. A wrong pass lets a bad portion go out, so a pass is held against the
probability of that.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Final, NamedTuple

from scaled.core.events import Verdict

if TYPE_CHECKING:
    from scaled.core.share import Share

SURE: Final = 0.86
"""Whatever is said of a build as a whole, of several ingredients together, or of a weight that the
scale is too coarse to judge or guarded acceptance finds too near a limit."""
PASSES: Final = 0.75
"""Of a pass less is asked: what else the step may have come to is most often good as well."""


class Asked(NamedTuple):
    """How probable it must be what a portion came to, by what is to be said of it.

    Attributes:
        most_amiss: A pass is not said of a step that is more probably than this surely no good.
        under: Least probability of too little;
        over: ... of too much;
        left_out: ... of nothing.
    """

    most_amiss: float = 0.03
    under: float = 0.86
    over: float = 0.95
    left_out: float = 0.88

    def of(self, verdict: Verdict) -> float:
        """Least probability for this verdict."""
        match verdict:
            case Verdict.UNDER:
                return self.under
            case Verdict.OVER:
                return self.over
            case Verdict.PASS:
                return PASSES
        return SURE


AS_WRITTEN: Final = Asked()
"""In a build that went as written;"""
ODD: Final = Asked(most_amiss=0.11, under=0.88, over=0.94)
"""... in one whose steps were not all done, or not in order;"""
BESIDE_FAULT: Final = Asked(under=0.88, over=0.96, left_out=0.97)
"""... and beside a step that has too little or too much, or was left out."""


def asked(*, plain: bool, beside_fault: bool = False) -> Asked:
    """What must be as sure as this to be said.

    Args:
        plain: The build went as written.
        beside_fault: The step before or after has too little or too much or was left out: what
            one lacks the other may have.
    """
    if beside_fault:
        return BESIDE_FAULT
    return AS_WRITTEN if plain else ODD


def as_written(shares: Iterable[Share], steps: int = 0) -> bool:
    """Whether a build's steps were done one after another from the first, none left out.

    Args:
        shares: The steps that are done, in the order in which they were.
        steps: How many should be by now, at least.
    """
    done = [step for share in shares for step in share.group]
    return done == list(range(len(done))) and len(done) >= steps
