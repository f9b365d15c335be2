"""Rests from an offline optimal segmentation, which sees the whole recording before it speaks.

The general library's exact search (pruned dynamic programming) cuts the recording into the
pieces of constant level whose squared errors, with a price for each cut, are least. A piece that
is long enough and close enough together is a rest; its level is its mean. It is told when it has
lasted long enough, though the cuts were found with all that came later.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum, inf, sqrt
from typing import Final

from tests.benchmarks.rests import Sample, Told

PRICE: Final = 5.0
"""Price of a cut, in squared divisions: of 2 to 80 the one that missed fewest rests and had most
steps right on seeds used for tuning."""
LEAST_S: Final = 0.5
"""A piece shorter than this is a movement: the rests asked for are at least as long."""
SPREAD_D: Final = 1.0
"""Standard deviation of a rest's readings, in divisions, at most."""


def segment_rests(samples: Sequence[Sample], division_g: float) -> list[Told]:
    """The rests of a whole recording.

    Args:
        samples: Readings, oldest first.
        division_g: Smallest displayed step, g.
    """
    return pieces_to_rests(samples, division_g, cuts(samples, division_g))


def cuts(samples: Sequence[Sample], division_g: float) -> list[int]:
    """Where the best pieces end, as indices just behind, the last one included."""
    # Here, not above: only who asks for this column needs the library and its wait.
    import numpy as np  # noqa: PLC0415
    import ruptures  # noqa: PLC0415

    signal = np.array([weight_g / division_g for _, weight_g in samples])
    search = ruptures.KernelCPD(kernel="linear", min_size=1).fit(signal)
    return [int(cut) for cut in search.predict(pen=PRICE)]


def pieces_to_rests(
    samples: Sequence[Sample], division_g: float, ends: Sequence[int]
) -> list[Told]:
    """Those of the pieces that are rests.

    Args:
        samples: Readings, oldest first.
        division_g: Smallest displayed step, g.
        ends: Index just behind each piece, ascending.
    """
    told = []
    for first, end in zip([0, *ends], ends, strict=False):
        piece = samples[first:end]
        weights_g = [weight_g for _, weight_g in piece]
        level_g = fsum(weights_g) / len(piece)
        spread_g = sqrt(fsum((g - level_g) ** 2 for g in weights_g) / len(piece))
        if piece[-1][0] - piece[0][0] >= LEAST_S and spread_g <= SPREAD_D * division_g:
            until_s = samples[end][0] if end < len(samples) else inf
            told.append(Told(piece[0][0] + LEAST_S, until_s, level_g, level_g))
    return told
