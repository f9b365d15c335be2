"""A cook's eyes: looking up, taking in what a screen says, and losing patience with it.

The times are starting points from watching people, without published source.
"""

from __future__ import annotations

import math
from collections.abc import Generator
from random import Random
from typing import Final

from simulators.gesture import Hand
from simulators.guidance import Guidance, Say, Screen

REACTION_S: Final = (0.3, 0.8)
"""From looking up to having taken in what the screen says."""
GLANCE_S: Final = 0.1
"""Between two looks at a screen that says to wait."""
PATIENCE_S: Final = 1.5
"""A screen that says the same as before a gesture has not seen it yet: so long it gets."""
GIVES_UP_S: Final = 30.0
"""A screen that leaves the cook standing so long is a dead end,"""
CONTRADICTIONS: Final = 6
"""... and so is one that takes its word back more often than this in one build."""


class Reader:
    """Reads one screen for the length of one build.

    Attributes:
        reading_s: Time spent taking in what it says.
        waiting_s: Time spent standing before it with nothing to do.
        contradictions: Times it took its word back while the cook did nothing.
        gave_up: Why the cook no longer believes in it; "" while he does.
    """

    def __init__(self, hand: Hand, screen: Screen, rng: Random) -> None:
        """Begin to look.

        Args:
            hand: Whose time passes.
            screen: What is looked at.
            rng: Source of chance.
        """
        self.reading_s = 0.0
        self.waiting_s = 0.0
        self.contradictions = 0
        self.gave_up = ""
        self._hand = hand
        self._screen = screen
        self._rng = rng
        self._before: Guidance | None = None
        self._acted_s = -math.inf

    def read(self, doable: frozenset[Say]) -> Generator[None, None, Guidance | None]:
        """Look until the screen asks for something that can be done.

        Stops whenever time has to pass up to the hand's.

        Args:
            doable: What can be done now; anything else leaves the cook standing.

        Returns:
            What it asks for, None when the cook gives up.
        """
        since_s = self._hand.now_s
        while True:
            reaction_s = self._rng.uniform(*REACTION_S)
            self.reading_s += reaction_s
            self._hand.wait(reaction_s)
            yield
            told = self._screen.look()
            if self._leads(told, doable):
                return told
            while not self._leads(self._screen.look(), doable):
                if self._hand.now_s - since_s > GIVES_UP_S:
                    self.gave_up = f"stands before: {self._screen.look().say}"
                    return None
                self.waiting_s += GLANCE_S
                self._hand.wait(GLANCE_S)
                yield

    def stands(self, told: Guidance) -> bool:
        """Whether the screen still asks for the same; waiting is no contradiction."""
        now = self._screen.look()
        if (now.say, now.step) == (told.say, told.step):
            return True
        if now.say is not Say.WAIT:
            self.contradict(f"{told.say}, then {now.say}")
        return False

    def contradict(self, what: str) -> None:
        """The screen says what cannot be."""
        self.contradictions += 1
        if self.contradictions > CONTRADICTIONS:
            self.gave_up = f"contradicts itself: {what}"

    def act(self) -> None:
        """The cook does now what the screen says."""
        self._before, self._acted_s = self._screen.look(), self._hand.now_s

    def _leads(self, told: Guidance, doable: frozenset[Say]) -> bool:
        fresh = told != self._before or self._hand.now_s - self._acted_s > PATIENCE_S
        return fresh and told.say in doable
