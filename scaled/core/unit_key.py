"""The unit key of a scale that sends no unit, pressed over a free pan where nothing shows it.

What is set down next tells: in the old unit it weighs nothing known, and its number may even lie
between the display's steps; in another one it weighs like a container or the build lifted off.
In the old unit it may not even look like a rest: so the weight is followed in all of them.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final, NamedTuple

from scaled.core.away import BELOW_ZERO_G, P_FOREIGN, WIDEST_G
from scaled.core.belief import Mode
from scaled.core.division import fineness
from scaled.core.food import Move
from scaled.core.moves import successors
from scaled.core.reading import GRAMS, Unit
from scaled.core.rest import Phase
from scaled.core.settle import Settler

if TYPE_CHECKING:
    from scaled.core.belief import Belief
    from scaled.core.division import LearntDivision
    from scaled.core.plan import Plan
    from scaled.core.reading import Reading
    from scaled.core.rest import Rest
    from scaled.core.track import Tracker

P_KEYED: Final = 0.005
"""The key was pressed while the pan was free; a starting point, not measured in kitchens."""
SURE: Final = 0.80
"""Least probability at which another unit is taken; a wrong one is found out the same way."""
MISTOLD: Final = 0.01
"""A display cannot show less than its division, unless that is not what was said: then its steps
may be as small as the number tells."""

_FREE: Final = frozenset({Mode.EMPTY, Mode.OFF})
_SET_DOWN: Final = frozenset({Move.PLACED, Move.RETURNED})
_ANYTHING: Final = frozenset({Move.PRESSED, Move.UNKNOWN})
"""These explain every weight alike: counted as one, anywhere in a kitchen scale's range."""


class Shown(NamedTuple):
    """A number on a display that does not say its unit.

    Attributes:
        number: The number.
        unit: The unit it is taken to be in.
        division_g: The display's smallest step, g; None when that is not known.
    """

    number: float
    unit: Unit
    division_g: float | None


class Found(NamedTuple):
    """The unit that a display turned out to be in.

    Attributes:
        unit: The unit.
        rest: The rest that told, read in it.
        settler: Followed the weight in it so far.
    """

    unit: Unit
    rest: Rest
    settler: Settler


class UnitKey:
    """Follows in every other unit what a display without one shows over a free pan.

    Args:
        plan: What the build should be.
        division: The scale's.
    """

    def __init__(self, plan: Plan, division: LearntDivision) -> None:
        self._plan = plan
        self._division = division
        self._followed: dict[Unit, _Followed] = {}

    def read(self, reading: Reading, unit: Unit, tracker: Tracker) -> Found | None:
        """Take one reading.

        Args:
            reading: The reading.
            unit: The unit that it has or is taken to be in.
            tracker: What was believed before it.

        Returns:
            The unit it is in, when with it a rest begins that makes sense in another one only.
        """
        best = tracker.best if reading.unit is None else None
        if best is None or best.mode not in _FREE:
            self._followed.clear()
            return None
        shown = Shown(reading.weight, unit, self._division.known_g)
        for other, rest in self._begun(reading, unit, best):
            as_taken = _times(rest, GRAMS[unit] / GRAMS[other])
            settler, before = self._followed[other]
            if unit_meant(shown, as_taken, before, self._plan) is other:
                self._followed.clear()
                return Found(other, rest, settler)
        return None

    def _begun(self, reading: Reading, unit: Unit, best: Belief) -> list[tuple[Unit, Rest]]:
        """The rests that begin with a reading, in every unit but the one it is taken to be in."""
        begun = []
        for other in Unit:
            if other is unit:
                continue
            known = self._followed.get(other)
            settler = known.settler if known else Settler(self._division.grams)
            if known is None or settler.resting:
                self._followed[other] = _Followed(settler, best)
            weight_g = reading.weight * GRAMS[other]
            change = settler.read(reading.t, weight_g, reading.stable)
            if change is not None and change[0] is Phase.BEGAN:
                begun.append((other, change[1]))
        return begun


class _Followed(NamedTuple):
    """The weight as it would be in one unit.

    Attributes:
        settler: Follows it.
        before: What was believed when it rested last.
    """

    settler: Settler
    before: Belief


def unit_meant(shown: Shown, rest: Rest, belief: Belief, plan: Plan) -> Unit:
    """The unit in which a rest on a pan that was free makes sense.

    Args:
        shown: The display at the rest.
        rest: The new rest, as read in the unit assumed.
        belief: What was believed before it.
        plan: What the build should be.

    Returns:
        The unit assumed, unless nothing known weighs this in it and another one is far likelier.
    """
    if plan.containers.fits(rest.level_g - belief.zero_g, rest.u_g):
        return shown.unit
    chances = {unit: _chance(unit, shown, rest, belief, plan) for unit in Unit}
    best = max(chances, key=chances.__getitem__)
    return best if chances[best] > SURE * math.fsum(chances.values()) else shown.unit


def in_unit(belief: Belief, ratio: float) -> Belief:
    """What is believed of a free pan whose weights are truly ``ratio`` times what was read.

    A zero far off was read again after the key; crumbs from before it need not have been.
    """
    far_off = abs(belief.zero_g) > -BELOW_ZERO_G
    return belief.rezeroed(ratio * belief.zero_g) if far_off else belief


def _chance(unit: Unit, shown: Shown, rest: Rest, belief: Belief, plan: Plan) -> float:
    """Chance of the number if the display is in this unit, per gram: steps are alike in all."""
    if unit is shown.unit:
        means = successors(belief, rest, plan)
        known = math.fsum(d for d, _, move in means if move not in _ANYTHING)
        density = known + P_FOREIGN / WIDEST_G
    else:
        ratio = GRAMS[unit] / GRAMS[shown.unit]
        means = successors(in_unit(belief, ratio), _times(rest, ratio), plan)
        density = P_KEYED * math.fsum(d for d, _, move in means if move in _SET_DOWN)
    return density * _steps(shown, unit)


def _times(rest: Rest, ratio: float) -> Rest:
    """The rest in another unit; how well it is known depends on the steps."""
    levels = {name: ratio * getattr(rest, name) for name in ("level_g", "left_g", "peak_g")}
    return rest._replace(**levels)


def _steps(shown: Shown, unit: Unit) -> float:
    """How well the number agrees with the steps of the display, were it in this unit."""
    share = fineness(shown.number, unit, shown.division_g)
    return 1.0 if share == 1.0 else MISTOLD * share
