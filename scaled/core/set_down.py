"""A container set down: how a build begins."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scaled.core.belief import Belief, Mode

if TYPE_CHECKING:
    from scaled.core.rest import Rest
    from scaled.core.share import Ended


def started(before: Belief, rest: Rest, steps: int, ended: Ended | None) -> Belief:
    """A new container on the pan, where the belief before it knows the zero.

    Args:
        before: What was believed before it.
        rest: The container alone.
        steps: How many the build has.
        ended: The build that stood there before, if it was not told yet.
    """
    y, u = rest.level_g, rest.u_g
    return Belief(
        mode=Mode.ON,
        zero_g=before.zero_g,
        zero_u_g=before.zero_u_g,
        level_g=y,
        level_u_g=u,
        base_g=y,
        base_u_g=u,
        group=(0,),
        ahead=tuple(range(1, steps)),
        start_g=y,
        start_u_g=u,
        fresh=True,
        ended=ended,
        coming=before.coming,
    )


def standing(build: Belief, tare_g: float, tare_u_g: float) -> Belief:
    """The same build in a container that was never weighed alone but weighs so much."""
    base_g = build.zero_g + tare_g
    return build._replace(
        base_g=base_g, base_u_g=tare_u_g, weighed=False, start_g=base_g, start_u_g=tare_u_g
    )


def tared(build: Belief, shown_g: float, tare_g: float) -> Belief:
    """The same container set to zero with the key, so that it alone is shown as so much."""
    guessed = build._replace(zero_g=shown_g - tare_g, zero_guessed=True)
    return standing(guessed, tare_g, build.level_u_g)
