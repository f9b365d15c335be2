"""What a rest meant: under each belief, and all in all."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import TYPE_CHECKING, Final, NamedTuple

from scaled.core.food import Move, Successor

if TYPE_CHECKING:
    from scaled.core.belief import Belief

NO_DRIFT_G: Final = 3.0
"""A zero that moved by less may have drifted, or holds crumbs."""
_NO_KEY: Final = frozenset({Move.SAME})
"""The zero of an empty pan is taken as it is seen,"""
_NO_KEY_WITHOUT_JUMP: Final = frozenset({Move.SAME, Move.LIFTED})
"""... also where a build has just left it."""


class Meant(NamedTuple):
    """What a rest may mean under one belief.

    Attributes:
        least: Densities below this are left out.
        densest: The highest.
        means: All that it may mean, with its densities.
    """

    least: float
    densest: float
    means: list[Successor]


Meanings = dict["Belief", Meant]
Look = tuple[float, "Belief", Meant]
"""Probability of a belief, the belief, and what a rest means under it."""


class Moved(NamedTuple):
    """What led to a rest.

    Attributes:
        chances: Probability of each kind of move.
        keyed: Probability that a key moved the zero, whatever else happened.
        shift_g: By how much, most likely.
    """

    chances: dict[Move, float]
    keyed: float
    shift_g: float

    @classmethod
    def of(cls, looks: Iterable[Look], *, jumped: bool = False) -> Moved:
        """The marginals of all that it may mean.

        Args:
            looks: What it may mean, belief by belief.
            jumped: The display jumped to zero on the way.
        """
        no_key = _NO_KEY if jumped else _NO_KEY_WITHOUT_JUMP
        weights: defaultdict[Move, float] = defaultdict(float)
        keyed = heaviest = shift_g = 0.0
        for chance, was, known in looks:
            for density, after, move in known.means:
                weight, by_g = chance * density, after.zero_g - was.zero_g
                weights[move] += weight
                if abs(by_g) > NO_DRIFT_G and move not in no_key:
                    keyed += weight
                    if weight > heaviest:
                        heaviest, shift_g = weight, by_g
        total = sum(weights.values()) or 1.0
        return cls(
            {move: weight / total for move, weight in weights.items()}, keyed / total, shift_g
        )
