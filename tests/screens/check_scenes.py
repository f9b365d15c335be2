"""Moments of a check of the scale for the screen's tests."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from typing import Final

from scaled.core.checkup import Trial
from scaled.core.live import Ask
from scaled.core.load_asked import Hitch
from scaled.core.verification import Finding
from scaled.screens.scene import Scene
from scaled.station.check_run import CheckingState, CheckRun
from scaled.station.day_check import CheckState, Fitness
from scaled.station.link import LinkState
from scaled.station.state import StationState
from tests.core.checked import checkup
from tests.screens.scenes import BOWL, link, live, state
from tests.station.checks import planned

_BEGUN: Final = CheckRun(planned(checkup(), "Q-002")).state
"""500 g, 2 kg and both, then 2 kg three times more and once on each corner."""
TABLE: Final = _BEGUN.table
_WAITING: Final = state(live(BOWL, None, Ask.PLACE, pan_g=0.0, build=0, u_g=0.0))


def checking(number: int, shown_g: float, **changes: object) -> CheckingState:
    """The check at a load that is to be put on, those before it weighed."""
    errors_g = (0.2, -0.4, 0.6, 0.1, 0.0, -0.2, 0.9, -1.1, 0.3, 0.2)[: number - 1]
    moment = replace(_BEGUN, number=number, empty=False, shown_g=shown_g, errors_g=errors_g)
    return replace(moment, **changes)  # type: ignore[arg-type]


def of(moment: CheckingState, link_state: LinkState = LinkState.LIVE) -> StationState:
    return replace(_WAITING, checking=moment, link=link(link_state))


def result(*worst_g: float) -> CheckState:
    """A check of the day by the worst of each trial."""
    where = ("2500 g, middle", "2000 g, 4 times", "2000 g, back left", "empty, 10 times")
    limits_g = (3.0, 2.0, 2.0, 1.0)
    findings = tuple(
        Finding(trial, worst, limit, place)
        for trial, worst, limit, place in zip(Trial, worst_g, limits_g, where, strict=True)
    )
    fit = all(finding.holds for finding in findings)
    return CheckState(
        fitness=Fitness.FIT if fit else Fitness.UNFIT,
        flagged=not fit,
        refused=False,
        checked_at=datetime(2026, 11, 25, 8, 3).astimezone(),
        table=TABLE,
        badge="Q-002",
        findings=findings,
        weights=("500 g", "2 kg"),
    )


FIT: Final = result(0.6, 0.5, -1.1, 0.0)
UNFIT: Final = result(7.5, 0.5, -6.1, 0.0)

CHECKS: Final = {
    "check-begins": Scene(of(replace(_BEGUN, shown_g=0.0)), BOWL),
    "check-not-zero": Scene(of(replace(_BEGUN, shown_g=21.0, hitch=Hitch.NOT_ZERO)), BOWL),
    "check-put-on": Scene(of(checking(1, 0.0)), BOWL),
    "check-two-weights": Scene(of(checking(3, 0.0)), BOWL),
    "check-corner": Scene(of(checking(8, 0.0)), BOWL),
    "check-lies": Scene(of(checking(8, 1999.0, lies=True)), BOWL),
    "check-other-weight": Scene(of(checking(2, 498.0, hitch=Hitch.OTHER_WEIGHT)), BOWL),
    "check-moving": Scene(of(checking(2, 1870.0, hitch=Hitch.MOVING)), BOWL),
    "check-empty-it": Scene(of(checking(4, 2501.0, empty=True)), BOWL),
    "check-not-empty": Scene(of(checking(4, 60.0, empty=True, hitch=Hitch.NOT_EMPTY)), BOWL),
    "check-last": Scene(
        of(checking(10, 2000.0, empty=True, errors_g=checking(11, 0.0).errors_g)), BOWL
    ),
    "check-abandoned": Scene(of(checking(2, 2000.0, empty=True, abandoned=True)), BOWL),
    "check-lost": Scene(of(checking(5, 1999.0), LinkState.LOST), BOWL),
    "check-fit": Scene(replace(_WAITING, check=FIT), BOWL, checked=FIT),
    "check-unfit": Scene(replace(_WAITING, check=UNFIT), BOWL, checked=UNFIT),
}
