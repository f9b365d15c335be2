"""The hands of a cook who does what a screen says.

The loop from pan to screen to cook is closed: what these hands do next hangs on what the screen
makes of what they did before. The ranges are starting points without published source, except
where a remark says otherwise.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from typing import Final

from simulators.cook import Cook
from simulators.following import Following, GuidedBuild
from simulators.gesture import Hand, KeyPress
from simulators.guidance import Screen
from simulators.stroke import Load

_FIRST_PAUSE_S: Final = 2.0
"""Empty pan before the first bowl."""


class ObedientHands:
    """A simulated cook's hands, led by a screen.

    Attributes:
        paused: While set, no new movement begins; one under way is finished.
        builds: What came of each build, once its bowl has left the pan.
    """

    def __init__(self, cook: Cook, screen: Screen, builds: int) -> None:
        """Let the cook begin at 0 s.

        Args:
            cook: Whose eye, habits and recipe these are; its own builds stay unused.
            screen: Asked whenever the cook looks up; must show what is known by then.
            builds: How many bowls to serve, those given up counted.
        """
        self.paused = False
        self.builds: list[GuidedBuild] = []
        self._cook = cook
        self._screen = screen
        self._load = Load()
        self._keys: deque[KeyPress] = deque()
        self._hand = Hand(cook.rng, 0.0)
        self._laid = 0
        self._work = self._serve(builds)
        self._done = False

    @property
    def done(self) -> bool:
        """The last bowl has left the pan and the pause after it is over."""
        return self._done

    def load_g(self, t: float) -> float:
        """Load on the pan at time ``t``, g; times asked about never run backwards."""
        self._go_on_until(t)
        return self._load.at(t)

    def next_key(self, t: float) -> KeyPress | None:
        """The oldest key pressed at or before ``t`` and not returned yet."""
        return self._keys.popleft() if self._keys and self._keys[0].at_s <= t else None

    def _go_on_until(self, t: float) -> None:
        while not self._done and not self.paused and self._hand.now_s <= t:
            self._hand.now_s = t  # nothing is begun in the past, not even after a pause
            self._done = next(self._work, True) is True
            self._take_over()

    def _take_over(self) -> None:
        """Put what the cook has begun on the pan."""
        strokes = self._hand.strokes
        if len(strokes) > self._laid:
            self._load.add(strokes[self._laid :])
            self._laid = len(strokes)
        self._keys.extend(self._hand.keys)
        self._hand.keys.clear()

    def _serve(self, builds: int) -> Iterator[None]:
        self._hand.wait(_FIRST_PAUSE_S)
        yield
        for number in range(1, builds + 1):
            following = Following(self._cook, self._hand, self._screen)
            yield from following.build()
            self.builds.append(following.result(number))
            self._hand = Hand(self._cook.rng, self._hand.now_s)
            self._laid = 0
