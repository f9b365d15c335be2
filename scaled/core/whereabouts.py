"""Where the load is: at which level it lay still last, and whether it is back.

That a build is back is mostly told by the rest that it comes to. Where it comes back with a hand
on it, or is fed at once, no single rest does; it is back all the same.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from scaled.core.belief import Mode
from scaled.core.events import BuildStarted, Event, Finished, Lifted, Returned
from scaled.core.telling import TOLD, At

if TYPE_CHECKING:
    from scaled.core.belief import Belief
    from scaled.core.track import Tracker


class Whereabouts:
    """Of the build under way.

    Attributes:
        stood_g: Level at which what was believed to lie on the pan lay still last.
    """

    def __init__(self) -> None:
        self.stood_g = 0.0
        self._left_g: float | None = None
        """Food in it when it was told to have left."""

    def rest(self, best: Belief | None, level_g: float) -> None:
        """A rest began, or is better known; it is none of the load's if a hand is on it.

        Args:
            best: What is most probable on the pan now.
            level_g: The level of the rest.
        """
        if best is not None and best.stands_at(level_g):
            self.stood_g = level_g

    def follow(self, told: Iterable[Event], now: Tracker, at: At) -> list[Event]:
        """That it is back, once that is sure and has not been told.

        Args:
            told: All that was told of a rest.
            now: What is believed after it.
            at: When, and in which build.
        """
        for event in told:
            match event:
                case Lifted(net_g=net_g):
                    self._left_g = net_g
                case Returned() | BuildStarted() | Finished():
                    self._left_g = None
        if self._left_g is None or now.probability(_stands) < TOLD:
            return []
        t, build = at
        food_g = now.beliefs[0][1].food_g
        back = Returned(t=t, build=build, net_g=food_g, change_g=food_g - self._left_g)
        self._left_g = None
        return [back]


def _stands(belief: Belief) -> bool:
    return belief.mode is Mode.ON and not belief.fresh
