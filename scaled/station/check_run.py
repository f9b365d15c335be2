"""A check of a station's scale under way, on the readings that the station hears anyway."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from scaled.core.checkup import Spot, Trial
from scaled.core.load_asked import Hitch
from scaled.core.verifying import Verifying
from scaled.station.plate import in_unit_said

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from scaled.core.checkup import Lay
    from scaled.core.reading import Reading
    from scaled.records.check import ScaleCheck
    from scaled.station.check_plan import CheckPlan


@dataclass(frozen=True, slots=True)
class LoadState:
    """One load of a check, for screens.

    Attributes:
        trial: What it is for.
        weights: The test weights as they are called: ``500 g and 2 kg``.
        load_g: What they weigh together.
        spot: Where on the pan they go.
    """

    trial: Trial
    weights: str
    load_g: float
    spot: Spot

    def __str__(self) -> str:
        return f"{self.weights}, {self.spot}"


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckingState:
    """A check under way, for screens.

    Attributes:
        badge: Who makes it; None when nobody said.
        table: The standard's table that will judge it.
        loads: All loads, in order; the pan is emptied before each and after the last.
        number: Which load it is about, from 1.
        empty: The pan is to be emptied; else the load is to be put on.
        hitch: What is in the way; None while nothing is.
        lies: What is asked for seems to be done: it only has to lie still.
        shown_g: The weight on the display; None before the first.
        division_g: The scale's smallest displayed step.
        errors_g: Of each load weighed so far, how much more than it was shown.
        abandoned: Nothing of it will be kept; it is over once the pan is empty.
    """

    badge: str | None
    table: str
    loads: tuple[LoadState, ...]
    number: int
    empty: bool
    hitch: Hitch | None
    lies: bool
    shown_g: float | None
    division_g: float
    errors_g: tuple[float, ...]
    abandoned: bool = False

    @property
    def load(self) -> LoadState:
        """The load it is about."""
        return self.loads[self.number - 1]

    @property
    def to_go(self) -> int:
        """How many loads are not weighed yet."""
        return len(self.loads) - len(self.errors_g)

    @property
    def asked(self) -> tuple[int, bool, Hitch | None, bool]:
        """What changes when something else is to be said."""
        return self.number, self.empty, self.hitch, self.abandoned


class CheckRun:
    """One check, from its start until it is over.

    Attributes:
        plan: What is to be done, and by whom.
    """

    def __init__(self, plan: CheckPlan) -> None:
        """Nothing is weighed yet."""
        self.plan = plan
        self._verifying = Verifying(plan.checkup)
        self._loads = tuple(_load(lay) for lay in plan.checkup.lays)
        self._abandoned = False
        self._unit = plan.station.unit

    def read(self, reading: Reading) -> None:
        """Take one reading."""
        reading, self._unit = in_unit_said(reading, self._unit), None
        self._verifying.read(reading)

    def abandon(self) -> None:
        """Keep nothing of it."""
        self._abandoned = True

    @property
    def over(self) -> bool:
        """Whether it is made, or abandoned and its weights are off the pan."""
        verifying = self._verifying
        return verifying.asked is None or (self._abandoned and verifying.emptied)

    def record(self, at: datetime, software: str) -> ScaleCheck | None:
        """What is kept of it; None until it is made, and once it was abandoned.

        Args:
            at: When that is, in UTC.
            software: Version of this program.
        """
        verification = self._verifying.verification
        if self._abandoned or verification is None:
            return None
        return self.plan.record(verification, at, software)

    @property
    def taken(self) -> Sequence[Reading]:
        """The readings it is made from, oldest first."""
        return self._verifying.taken

    @property
    def state(self) -> CheckingState:
        """How it stands."""
        asked = self._verifying.asked
        return CheckingState(
            badge=self.plan.badge,
            table=self.plan.checkup.permissible.table,
            loads=self._loads,
            number=asked.number if asked else len(self._loads),
            empty=self._abandoned or asked is None or asked.lay is None,
            hitch=None if self._abandoned or asked is None else asked.hitch,
            lies=self._verifying.lies,
            shown_g=self._verifying.shown_g,
            division_g=float(self.plan.checkup.plate.division_g),
            errors_g=self._verifying.errors_g,
            abandoned=self._abandoned,
        )


def _load(lay: Lay) -> LoadState:
    return LoadState(lay.trial, lay.weights, float(lay.load_g), lay.spot)
