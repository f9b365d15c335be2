"""How probable the outcome of a step must be before it is said.

The figures come from simulated cooks: what was believed this much was wrong in about one word of
a hundred, whatever was said. A pass is what nearly every portion deserves; the rarer the story,
the likelier it is that a rarer one still is true, of which nobody thought.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from scaled.core.events import Verdict

if TYPE_CHECKING:
    from scaled.core.belief import Share

SURE: Final = 0.86
"""Whatever is said of a build as a whole, and of a portion that passes;"""
SURE_FAULT: Final = 0.95
"""... one with too little or too much: more often that is food of another step;"""
SURE_LEFT_OUT: Final = 0.97
"""... a step that was left out;"""
SURE_ODD: Final = 0.98
"""... a fault in a build whose steps were not all done, or not in order."""


def asked(verdict: Verdict, *, plain: bool) -> float:
    """Least probability of a portion that is called sure.

    Args:
        verdict: What is to be said of it.
        plain: The build went as written.
    """
    if verdict not in {Verdict.UNDER, Verdict.OVER}:
        return SURE
    return SURE_FAULT if plain else SURE_ODD


def as_written(shares: Iterable[Share], steps: int = 0) -> bool:
    """Whether a build's steps were done one after another from the first, none left out.

    Args:
        shares: The steps that are done, in the order in which they were.
        steps: How many should be by now, at least.
    """
    done = [step for share in shares for step in share.group]
    return done == list(range(len(done))) and len(done) >= steps
