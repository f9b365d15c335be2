"""The steps of a build as a ladder: what is known of each."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scaled.core.live import Rung, StepState

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from scaled.core.belief import Belief
    from scaled.core.events import Portion


def ladder(
    steps: Sequence[str], said: Mapping[int, Portion], nets: Mapping[int, float]
) -> tuple[Rung, ...]:
    """Every step with what is known of it, in the order of the steps.

    Args:
        steps: Their ids.
        said: Final words, by place.
        nets: Weight, g, of those that hold something, by place.
    """
    return tuple(
        _done(said[i])
        if i in said
        else Rung(step, StepState.OPEN if i in nets else StepState.TODO, nets.get(i))
        for i, step in enumerate(steps)
    )


def nets(best: Belief | None, shown: tuple[int, ...] | None, net_g: float) -> dict[int, float]:
    """Weight of each step that holds something; the one that is shown is ``net_g``."""
    shares = best.shares() if best is not None else ()
    weights = {i: share.net_g for share in shares for i in share.group}
    return weights | dict.fromkeys(shown or (), net_g)


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
