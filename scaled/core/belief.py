"""One hypothesis about what stands on the pan, and the ways it can change.

A belief is a small value; what a new rest may mean under it is :mod:`scaled.core.moves`.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from enum import Enum
from functools import partial
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from scaled.core.share import Ended, Share

if TYPE_CHECKING:
    from scaled.core.coming import Coming
    from scaled.core.rest import Rest


DRIFT_G: Final = 0.5
"""An empty pan comes back to zero within this (crumbs, creep)."""


class Mode(Enum):
    """Where the build is."""

    EMPTY = "empty"
    ON = "on"
    OFF = "off"
    REPORTED = "reported"
    """On the pan, but ended by a key."""

    __hash__ = object.__hash__  # each member is one object; Enum's own hash is slow


class Belief(NamedTuple):
    """What stands on the pan, if this hypothesis is true.

    Levels are weights shown by the scale, g. Steps are indices into the plan.

    Attributes:
        mode: Where the build is.
        zero_g: Level of the empty pan.
        level_g: Level of the build, on the pan or before it was lifted.
        level_u_g: Its standard uncertainty.
        start_g: Level at which the open step began.
        start_u_g: Its standard uncertainty.
        group: The open step, or two poured together.
        ahead: Steps neither closed nor open, in profile order.
        closed: The steps that are done.
        clear: Nothing unexplained happened in the open step.
        base_g: Level of the container alone.
        base_u_g: Its standard uncertainty.
        weighed: The container was weighed alone; otherwise it is taken to be the profile's.
        zero_u_g: Standard uncertainty of the zero, which jumps of the display blur.
        zero_guessed: It was set to zero with the key before the pan was seen empty: the zero
            lies where it would with the profile's container. Of a build that is off the pan: it
            was not known when the build left.
        strange: Something unexplained happened in this build.
        carried: It was lifted off after food came last.
        fresh: The build began since the last one that was told of.
        ended: The build that left before it, until that is told.
        coming: Builds begun on other scales that may be set down here.
        origin: What the build was before it was set down here; None when it began here.
        gestures: Gestures seen in the open step; 0 when nothing is in it. The last: beliefs that
            agree in all before it are the same.
    """

    mode: Mode
    zero_g: float
    level_g: float
    level_u_g: float
    start_g: float = 0.0
    start_u_g: float = 0.0
    group: tuple[int, ...] = ()
    ahead: tuple[int, ...] = ()
    closed: tuple[Share, ...] = ()
    clear: bool = True
    base_g: float = 0.0
    base_u_g: float = 0.0
    weighed: bool = True
    zero_u_g: float = 0.0
    zero_guessed: bool = False
    strange: bool = False
    carried: bool = False
    fresh: bool = False
    ended: Ended | None = None
    coming: tuple[Coming, ...] = ()
    origin: Coming | None = None
    gestures: int = 0

    @property
    def net_g(self) -> float:
        """Weight in the open step so far."""
        return self.level_g - self.start_g

    @property
    def net_u_g(self) -> float:
        """Standard uncertainty of :attr:`net_g`: a difference of two levels."""
        return math.hypot(self.level_u_g, self.start_u_g)

    @property
    def tare_g(self) -> float:
        """Weight of the container."""
        return self.base_g - self.zero_g

    @property
    def tare_u_g(self) -> float:
        """Standard uncertainty of :attr:`tare_g`: jumps blur the container and the zero alike."""
        return math.sqrt(max(self.base_u_g**2 - self.zero_u_g**2, 0.0))

    @property
    def food_g(self) -> float:
        """All food in the container."""
        return self.level_g - self.base_g

    @property
    def passed(self) -> tuple[int, ...]:
        """Steps neither closed nor open that come before one that is."""
        return self.parted[0]

    @property
    def to_come(self) -> tuple[int, ...]:
        """Steps that come after all that are closed or open."""
        return self.parted[1]

    @property
    def parted(self) -> tuple[tuple[int, ...], tuple[int, ...]]:
        """:attr:`passed` and :attr:`to_come`."""
        ahead, begun = self.ahead, [*self.group]
        for share in self.closed:
            begun += share.group
        place = bisect_left(ahead, max(begun))
        return ahead[:place], ahead[place:]

    def shares(self) -> tuple[Share, ...]:
        """All closed steps, the open one closed with them if anything is in it."""
        if not self.gestures:
            return self.closed
        return (*self.closed, _share((self.group, self.net_g, self.net_u_g, self.clear)))

    def end(self) -> Ended:
        """The build as it is when it leaves.

        After something strange no step can be said to have been left out: all are shares.
        """
        total_u = math.hypot(self.level_u_g, self.base_u_g)
        shares = self.shares()
        if self.strange:
            left = self.ahead if self.gestures else (*self.group, *self.ahead)
            shares += tuple(Share((step,), 0.0, 0.0, clear=False) for step in left)
        return Ended(shares, self.food_g, total_u)

    def at(self, level_g: float, level_u_g: float) -> Belief:
        """The same build at another level: food came or went."""
        return self.fed(level_g, level_u_g, self.gestures)

    def fed(self, level_g: float, level_u_g: float, gestures: int) -> Belief:
        """The same build at another level after so many gestures towards the open step."""
        new: list[object] = [*self]
        new[_LEVEL], new[_LEVEL_U], new[_GESTURES] = level_g, level_u_g, gestures
        if gestures != self.gestures:
            new[_CARRIED] = False
        return _belief(new)

    def resettled(self, level_g: float, level_u_g: float) -> Belief:
        """The same load, seen again; a step that holds nothing yet begins at the newer level."""
        new: list[object] = [*self]
        new[_LEVEL], new[_LEVEL_U] = level_g, level_u_g
        if not self.gestures:
            new[_START], new[_START_U] = level_g, level_u_g
            if not self.closed:
                new[_BASE], new[_BASE_U], new[_WEIGHED] = level_g, level_u_g, True
        return _belief(new)

    def unexplained(self, level_g: float) -> Belief:
        """Something came or went that is no portion; the open step's weight is in doubt."""
        new: list[object] = [*self]
        new[_LEVEL], new[_START] = level_g, self.start_g + level_g - self.level_g
        new[_CLEAR], new[_STRANGE] = False, True
        return _belief(new)

    def doubted(self) -> Belief:
        """The same build; what is in the open step is in doubt."""
        new: list[object] = [*self]
        new[_CLEAR] = False
        return _belief(new)

    def shown_at(self, level_g: float, level_u_g: float) -> Belief:
        """The same build, shown at another level: the display jumped, the load did not.

        What it jumped from was known no better than the level: nor is what was weighed before.
        """
        new = self._shifted(level_g - self.level_g)
        new[_LEVEL], new[_LEVEL_U] = level_g, level_u_g
        for place in (_START_U, _BASE_U, _ZERO_U):
            new[place] = math.hypot(new[place], self.level_u_g)
        if not self.gestures:
            new[_START], new[_START_U] = level_g, level_u_g
        return _belief(new)

    def lifted(self, zero_g: float | None = None) -> Belief:
        """The build off the pan; all levels follow the newly seen zero if that was known.

        Args:
            zero_g: Level of the empty pan; None: nobody saw that at rest.
        """
        new: list[Any] = [*self]
        if zero_g is not None:
            known = not self.zero_guessed and self.zero_u_g <= DRIFT_G
            new = self._shifted(zero_g - self.zero_g if known else 0.0)
            new[_ZERO], new[_ZERO_U], new[_ZERO_GUESSED] = zero_g, 0.0, not known
        new[_MODE], new[_CARRIED] = Mode.OFF, True
        return _belief(new)

    def lost(self, zero_g: float) -> Belief:
        """Off the pan, whose zero shows that a key press went unseen: so may food have been."""
        doubted = tuple(share._replace(clear=False) for share in self.closed)
        return self.lifted(zero_g)._replace(closed=doubted, clear=False, strange=True)

    def rezeroed(self, zero_g: float) -> Belief:
        """The empty pan is shown at another level."""
        new = self._shifted(zero_g - self.zero_g)
        new[_ZERO] = zero_g
        return _belief(new)

    def _shifted(self, by_g: float) -> list[Any]:
        """All fields, with all levels so much higher."""
        new: list[Any] = [*self]
        new[_ZERO] += by_g
        new[_LEVEL] += by_g
        new[_START] += by_g
        new[_BASE] += by_g
        return new

    def opened(self, group: tuple[int, ...]) -> Belief:
        """The open step closed if anything is in it, and others, ahead or empty, opened."""
        return self.begun(group, self.level_g, self.level_u_g, 0)

    def begun(
        self, group: tuple[int, ...], level_g: float, level_u_g: float, gestures: int
    ) -> Belief:
        """Others opened, the open step closed, and so many gestures made towards them."""
        left = self.ahead if self.gestures else sorted((*self.group, *self.ahead))
        new: list[object] = [*self]
        new[_LEVEL], new[_LEVEL_U] = level_g, level_u_g
        new[_START], new[_START_U] = self.level_g, self.level_u_g
        new[_GROUP], new[_AHEAD] = group, tuple([step for step in left if step not in group])
        new[_CLOSED], new[_CLEAR], new[_GESTURES] = self.shares(), True, gestures
        new[_CARRIED] = False
        return _belief(new)

    def joined(
        self, group: tuple[int, ...], level_g: float, level_u_g: float, gestures: int
    ) -> Belief:
        """The open step poured together with others, after so many gestures."""
        new: list[object] = [*self]
        new[_LEVEL], new[_LEVEL_U], new[_GROUP] = level_g, level_u_g, group
        new[_AHEAD] = tuple([step for step in self.ahead if step not in group])
        new[_GESTURES], new[_CARRIED] = gestures, False
        return _belief(new)

    def without(self, build: Coming) -> Belief:
        """The same, but that build is not on its way."""
        return self._replace(coming=tuple(b for b in self.coming if b is not build))

    def bare(self, zero_g: float, u_g: float) -> Belief:
        """An empty pan after this."""
        nothing = empty(zero_g, u_g)
        return nothing._replace(coming=self.coming) if self.coming else nothing

    def stands_at(self, level_g: float) -> bool:
        """Whether a rest at this level needs no hand on the bowl; a bare pan may hold anything."""
        return self.mode is Mode.EMPTY or level_g in (self.level_g, self.zero_g)

    def revised(self, before_g: float, rest: Rest) -> Belief:
        """All that hangs on a level now known better moved with it."""
        y, u = rest.level_g, rest.u_g
        if (self.level_g if self.mode is Mode.ON else self.zero_g) != before_g:
            return self
        if self.mode is Mode.OFF and not self.zero_guessed:
            return _belief(self._shifted(y - before_g))  # its levels followed the zero
        new: list[object] = [*self]
        if self.mode is not Mode.ON:
            new[_ZERO] = y
            return _belief(new)
        new[_LEVEL], new[_LEVEL_U] = y, u
        if self.start_g == before_g:
            new[_START], new[_START_U] = y, u
        if self.base_g == before_g:
            new[_BASE], new[_BASE_U] = y, u
        return _belief(new)


# What changes often is changed by place, and its fields are not counted again: that is five times
# as fast as by name.
_belief, _share = partial(tuple.__new__, Belief), partial(tuple.__new__, Share)
_MODE, _ZERO, _LEVEL, _LEVEL_U, _START, _START_U, _GROUP, _AHEAD, _CLOSED, _CLEAR = range(10)
_BASE, _BASE_U, _WEIGHED, _ZERO_U, _ZERO_GUESSED, _STRANGE, _CARRIED = range(10, 17)
_GESTURES = len(Belief._fields) - 1


def empty(zero_g: float, u_g: float) -> Belief:
    """An empty pan."""
    return Belief(Mode.EMPTY, zero_g, zero_g, u_g)
