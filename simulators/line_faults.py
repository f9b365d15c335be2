"""What a poor line does to readings on their way: loses, repeats and garbles some."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from random import Random

from simulators.display import Shown
from simulators.habits import Habits
from simulators.truth import Disturbance, DisturbanceKind


class LineFaults:
    """One line; :attr:`log` tells what it did, in order."""

    def __init__(self, habits: Habits, rng: Random) -> None:
        self.log: list[Disturbance] = []
        self._habits = habits
        self._rng = rng

    def carry(self, shown: Shown) -> list[Shown]:
        """What arrives of one reading: usually itself, sometimes nothing, two, or another."""
        luck = self._rng.random()
        for kind, chance in (
            (DisturbanceKind.DROPPED, self._habits.dropped),
            (DisturbanceKind.DUPLICATED, self._habits.duplicated),
            (DisturbanceKind.GARBLED, self._habits.garbled),
        ):
            if luck < chance:
                self.log.append(Disturbance(kind, shown.t, shown.t))
                return self._spoil(shown, kind)
            luck -= chance
        return [shown]

    def _spoil(self, shown: Shown, kind: DisturbanceKind) -> list[Shown]:
        if kind is DisturbanceKind.DROPPED:
            return []
        if kind is DisturbanceKind.DUPLICATED:
            return [shown, shown]
        return [replace(shown, weight=self._change_digit(shown.weight))]

    def _change_digit(self, weight: Decimal) -> Decimal:
        text = f"{weight}"
        place = self._rng.choice([i for i, sign in enumerate(text) if sign.isdigit()])
        other = (int(text[place]) + self._rng.randrange(1, 10)) % 10
        return Decimal(f"{text[:place]}{other}{text[place + 1 :]}")
