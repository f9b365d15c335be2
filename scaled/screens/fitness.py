"""The check of the scale in plain words."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from scaled.screens.advice import Advice
from scaled.screens.marks import Mark
from scaled.station.day_check import CheckState, Fitness

_FACTS: Final = MappingProxyType(
    {Fitness.MISSING: "scale not checked", Fitness.UNFIT: "scale not fit"}
)
_WANTING: Final = MappingProxyType(
    {
        Fitness.MISSING: "this scale was not checked today",
        Fitness.UNFIT: "this scale is not fit, says today's check",
    }
)
_HEADLINES: Final = MappingProxyType(
    {
        Fitness.MISSING: ("NO CHECK OF THE SCALE", "CHECK THE SCALE"),
        Fitness.UNFIT: ("SCALE NOT FIT", "NOT FIT"),
    }
)


def check_fact(check: CheckState | None) -> str:
    """What is wrong with a live scale, in few words; "" when nothing is that cooks are told."""
    return _FACTS[check.fitness] if check is not None and check.flagged else ""


def check_line(check: CheckState | None) -> str:
    """What a cook should know of the scale before the first bowl, "" when nothing."""
    if check is None or not check.flagged:
        return ""
    return f"{_WANTING[check.fitness]}: tell the trainer"


def refusal(check: CheckState | None) -> Advice | None:
    """Why no build can begin, None when one can."""
    if check is None or not check.refused:
        return None
    remedy = " until it is: press S" if check.fitness is Fitness.MISSING else "; tell the trainer"
    line = f"{_WANTING[check.fitness]}: no build can begin{remedy}"
    return Advice(Mark.GONE, _HEADLINES[check.fitness], line)
