"""What the screen speaks from: the hypotheses, as they are for a cook who does what it says.

Final words must hold for whoever builds, so they rest on the tracker alone. A guide may assume
more: its reader has just been told what to do. Without that a cook who corrects a portion as
asked is soon taken for one who has begun the next, and is led astray.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from scaled.core.track import Meanings, Tracker

if TYPE_CHECKING:
    from collections.abc import Iterable

    from scaled.core.belief import Belief
    from scaled.core.plan import Plan
    from scaled.core.rest import Rest

OBEYS: Final = 8.0
"""How much likelier a cook with a screen is to do what it says than one without."""

Story = tuple[tuple[int, ...], ...]
"""The closed steps in the order they were closed, and the open one."""


def story(belief: Belief) -> Story:
    """What a belief says was done so far."""
    return (*(share.group for share in belief.closed), belief.group)


class Guide(Tracker):
    """The hypotheses for one scale's pan and a cook who does what the screen says.

    Args:
        plan: What the build should be.
    """

    def __init__(self, plan: Plan) -> None:
        super().__init__(plan)
        self._led: frozenset[Story] = frozenset()

    def take(self, rest: Rest, tracker: Tracker, meant: Meanings | None = None) -> None:
        """Take a new rest: what was asked for is likelier than anything else.

        Args:
            rest: The rest.
            tracker: Has just taken it.
            meant: What it means under the tracker's beliefs, which mostly are the guide's too.
        """
        if not self.beliefs:
            self.follow(tracker)
            return
        self.advance(rest, meant)
        led = self._led
        if led and rest.settled:
            self.weigh(lambda belief: OBEYS if story(belief) in led else 1.0)

    def lead(self, stories: Iterable[Story]) -> None:
        """Remember what the screen asks for at this rest.

        Args:
            stories: What the next rest will say if the cook does it; none: anything may come.
        """
        self._led = frozenset(stories)

    def follow(self, tracker: Tracker) -> None:
        """Begin again from what is believed of any cook: a key was pressed, a build began."""
        self.beliefs = tracker.beliefs
        self._led = frozenset()
