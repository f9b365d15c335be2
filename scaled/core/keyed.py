"""What the way of the display says: a key makes it jump, a load takes its time.

Every number is a starting point taken from simulated cooks and scales.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Final

from scaled.core.food import Move, Successor

if TYPE_CHECKING:
    from scaled.core.belief import Belief
    from scaled.core.jump import Jump
    from scaled.core.rest import Rest

ABRUPT_KEY: Final = 0.97
"""Share of key presses whose jump is seen without a reading between."""
P_KEYED_AMID: Final = 0.02
"""The key is pressed while the load still moves, by a cook who is in a hurry."""
LEANT: Final = 0.003
"""What the display jumped from was no load, or not all of it: somebody leant on the bowl to press
the key and left as it jumped. What moved there is weighed by :func:`keyed_amid`."""


def by_way(means: Iterable[Successor], rest: Rest, *, loaded: bool) -> list[Successor]:
    """What a rest may mean by whether the display jumped on its way there.

    Args:
        means: What it may mean otherwise.
        rest: The rest.
        loaded: What was shown at the rest before is on the pan, and no hand pressed.
    """
    key, load = ABRUPT_KEY, rest.load_abrupt
    if rest.jump is not None:
        key *= 1.0 if rest.abrupt and loaded else LEANT
        load = max(load, rest.jump.chance)
    elif rest.abrupt is None:
        key = load = 1.0
    elif not rest.abrupt:
        key, load = 1 - key, 1 - load
    rezeroed = Move.REZEROED
    return [
        (density * (key if move is rezeroed else load), after, move)
        for density, after, move in means
    ]


def set_to_zero(belief: Belief, jump: Jump) -> Belief:
    """The same pan after the key was pressed: all is shown as so much less."""
    shown = belief.rezeroed(belief.zero_g - jump.from_g)
    return shown._replace(
        level_u_g=math.hypot(shown.level_u_g, jump.u_g),
        start_u_g=math.hypot(shown.start_u_g, jump.u_g),
        base_u_g=math.hypot(shown.base_u_g, jump.u_g),
        zero_u_g=math.hypot(belief.zero_u_g, jump.u_g),
    )


def keyed_amid(means: Iterable[Successor], chance: float) -> Iterator[Successor]:
    """The key was pressed amid what a rest means from :func:`set_to_zero` on, and not again.

    Args:
        means: What it means from there on.
        chance: Probability that it is pressed while the load still moves.
    """
    for density, after, move in means:
        if move is not Move.REZEROED:
            told = Move.REZEROED if move is Move.SAME else move
            yield chance * ABRUPT_KEY * density, after, told
