"""How much oftener than others this cook presses the tare key: some after every ingredient.

Every number is a starting point, not measured in kitchens.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

from scaled.core.belief import Mode
from scaled.core.food import Move

if TYPE_CHECKING:
    from scaled.core.belief import Belief
    from scaled.core.meant import Moved

USUAL: Final = 0.01
"""How often a cook nobody knows presses it,"""
WEIGHT: Final = 3.0
"""... which counts like so many observed occasions."""
MOST: Final = 0.3
"""Nobody is known to press it more often than this."""
LIKELIER: Final = 0.5
"""What is more probable than this is what happened."""
_FOOD: Final = (Move.ADDED, Move.BEGUN)


@dataclass(slots=True)
class Presses:
    """On one kind of occasion.

    Attributes:
        pressed: How often it was pressed,
        occasions: ... of so many occasions, both weighed by their probability.
    """

    pressed: float = 0.0
    occasions: float = 0.0

    def often(self, usual: float) -> float:
        """Probability that it is pressed now, where ``usual`` is a cook's whom nobody knows."""
        rate = (WEIGHT * USUAL + self.pressed) / (WEIGHT + self.occasions)
        return min(usual * max(rate / USUAL, 1.0), MOST)


@dataclass(slots=True)
class KeyHabit:
    """What was seen of it in this session.

    Attributes:
        bare: With an empty container on the pan.
        fed: With food in it.
    """

    bare: Presses = field(default_factory=Presses)
    fed: Presses = field(default_factory=Presses)

    def on(self, belief: Belief) -> Presses:
        """Those with a container that stands on the pan under a belief, or comes there next."""
        filled = belief.mode is Mode.ON and (belief.gestures or belief.closed)
        return self.fed if filled else self.bare

    def learn(self, moved: Moved, was: Belief | None) -> None:
        """Take what led to a rest, and what was most probable before it."""
        if moved.chances.get(Move.LIFTED, 0.0) > LIKELIER:
            return  # the zero key over the empty pan is everybody's
        added = sum(moved.chances.get(move, 0.0) for move in _FOOD)
        placed = moved.chances.get(Move.PLACED, 0.0)
        self.fed.occasions += added
        self.bare.occasions += placed
        if placed > LIKELIER:
            self.bare.pressed += moved.keyed
        elif added > LIKELIER:
            self.fed.pressed += moved.keyed
        elif was is not None and was.mode is Mode.ON:
            self.on(was).pressed += moved.keyed
