"""What whoever checks the scale is told, in plain words."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from scaled.core.checkup import Spot
from scaled.core.load_asked import Hitch
from scaled.screens.advice import Advice
from scaled.screens.marks import Mark
from scaled.station.check_run import CheckingState
from scaled.station.day_check import CheckState, Fitness

_HITCHES: Final = MappingProxyType(
    {
        Hitch.MOVING: "the weight does not come to rest: hands off, no draught, nothing touching",
        Hitch.OTHER_WEIGHT: "not the weight asked for? swap it; if it is, the scale is far off",
        Hitch.NOT_EMPTY: "something is left on the pan? take it off; if not, wait",
        Hitch.NOT_ZERO: "not at zero: empty the pan and press the scale's zero key",
    }
)


def hitch_line(hitch: Hitch) -> str:
    """What keeps a check from going on, and what to do."""
    return _HITCHES[hitch]


def check_advice(checking: CheckingState) -> Advice:
    """What to do next in a check of the scale."""
    if checking.abandoned:
        line = "the check is abandoned, nothing of it is kept: take its weights off the pan"
        return Advice(Mark.TAKE_BACK, ("EMPTY THE PAN", "EMPTY IT"), line)
    if checking.hitch is not None:
        return _hindered(checking.hitch, checking.load.weights)
    if checking.lies:
        what = "empty pan" if checking.empty else checking.load.weights
        return Advice(Mark.WAIT, ("HANDS OFF",), f"hands off until the {what} is weighed")
    if checking.empty:
        first, last = not checking.errors_g, not checking.to_go
        when = "to begin, " if first else "to end, " if last else ""
        line = f"{when}take everything off the pan, then hands off"
        return Advice(Mark.TAKE_BACK, ("EMPTY THE PAN", "EMPTY IT"), line)
    return _put(checking.load.weights, checking.load.spot)


def _hindered(hitch: Hitch, weights: str) -> Advice:
    mark, *headlines = {
        Hitch.MOVING: (Mark.WAIT, "HANDS OFF"),
        Hitch.OTHER_WEIGHT: (Mark.DOUBT, f"IS IT {weights.upper()}?", "WHICH ONE?"),
        Hitch.NOT_EMPTY: (Mark.DOUBT, "IS IT EMPTY?"),
        Hitch.NOT_ZERO: (Mark.DOUBT, "NOT AT ZERO"),
    }[hitch]
    return Advice(Mark(mark), tuple(headlines), hitch_line(hitch))


def _put(weights: str, spot: Spot) -> Advice:
    where = "in the middle" if spot is Spot.MIDDLE else f"at the {spot}"
    called = weights.upper().replace(" AND ", " + ")
    full = f"PUT ON {called}" if spot is Spot.MIDDLE else f"{called} {spot.upper()}"
    line = f"put {weights} {where} of the pan, then hands off"
    return Advice(Mark.SET_DOWN, (full, called, "PUT IT ON"), line)


def result_advice(check: CheckState) -> Advice:
    """What came of the check that was just made."""
    if check.fitness is Fitness.FIT:
        line = f"by {check.table}; press N, or set down the next bowl"
        return Advice(Mark.DONE, ("SCALE IS FIT", "FIT"), line)
    line = f"by {check.table}: use another scale, or have this one repaired; N goes on"
    return Advice(Mark.AMISS, ("SCALE IS NOT FIT", "NOT FIT"), line)
