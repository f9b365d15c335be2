"""The check of the day: whether a station's scale was verified today, and what follows."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import TYPE_CHECKING

from scaled.core.errors import CommandRefused
from scaled.core.verification import Finding
from scaled.core.wording import spell
from scaled.records.check import SCALE_CHECKED, ScaleCheck, read_check
from scaled.records.query import understood
from scaled.records.reader import Records

if TYPE_CHECKING:
    from pathlib import Path

    from scaled.config import CheckRule, StationConfig
    from scaled.core.accuracy import Accuracy


class Fitness(StrEnum):
    """What today's check says of a scale."""

    FIT = "fit"
    UNFIT = "unfit"
    MISSING = "missing"


@dataclass(frozen=True, slots=True)
class CheckState:
    """The check of the day, for screens.

    Attributes:
        fitness: What it says.
        flagged: Cooks are to be told.
        refused: No build may be begun.
        checked_at: When it was made, in UTC; None without one today.
        table: The standard's table that judged it, "" without one today.
        badge: Code of whoever made it; None when nobody said, or without one today.
        findings: What each trial came to; none without a check today.
        weights: The test weights that the configuration names.
    """

    fitness: Fitness
    flagged: bool
    refused: bool
    checked_at: datetime | None = None
    table: str = ""
    badge: str | None = None
    findings: tuple[Finding, ...] = ()
    weights: tuple[str, ...] = ()


class DayCheck:
    """The last check of one station's scale, as it counts on a day."""

    def __init__(self, config: StationConfig, last: ScaleCheck | None = None) -> None:
        """``last`` is the newest check of this very scale."""
        self._name = config.name
        self._rule: CheckRule = config.check_of_the_day
        self._plate = config.accuracy
        self._weights = tuple(spell(weight, weight.unit) for weight in config.test_weights_g)
        self._last = last

    def state(self, now: datetime) -> CheckState:
        """How things stand at an instant."""
        check = self._on(now)
        if check is None:
            refused = self._rule == "refuse"
            flagged = self._rule != "allow"
            return CheckState(Fitness.MISSING, flagged, refused, weights=self._weights)
        fit = check.verification.holds
        return CheckState(
            fitness=Fitness.FIT if fit else Fitness.UNFIT,
            flagged=not fit,  # whoever allows scales without a check does not want a bad one
            refused=self._rule == "refuse" and not fit,
            checked_at=check.checked_at,
            table=check.verification.table,
            badge=check.badge,
            findings=check.verification.findings,
            weights=self._weights,
        )

    def check_allowed(self, command: str, now: datetime) -> None:
        """Make sure that a build may be begun.

        Raises:
            CommandRefused: Its check of the day is wanting; says what to do.
        """
        check = self.state(now)
        if check.refused:
            raise CommandRefused(command, _refusal(check, self._name))

    def accuracy(self, now: datetime) -> Accuracy | None:
        """How truly the scale weighs: as its check of the day found, else as its plate says."""
        check = self._on(now)
        return self._plate if check is None else check.verification.accuracy

    def _on(self, now: datetime) -> ScaleCheck | None:
        """The check of the day of ``now``, as the clock on the wall counts days."""
        if self._last is None or self._last.checked_at > now:
            return None
        today = now.astimezone().date()
        return self._last if self._last.checked_at.astimezone().date() == today else None


def _refusal(check: CheckState, station: str) -> str:
    remedy = f"check it: press S on its screen, or run: scaled scale verify --station {station}"
    if check.fitness is Fitness.UNFIT:
        return f"this scale is not fit, says today's check; use another, or repair and {remedy}"
    return f"this scale was not checked today; {remedy}"


def find_day_check(journal: Path, config: StationConfig) -> DayCheck:
    """What the newest check of a station's scale, as it is set up now, makes of it; blocking.

    Raises:
        JournalError: The journal cannot be read.
    """
    with Records.open(journal) as stored:
        for place in reversed(stored.places(SCALE_CHECKED)):
            check = understood(stored, stored.at(place), read_check)
            if _is_of(check, config):
                return DayCheck(config, check)
    return DayCheck(config)


def _is_of(check: ScaleCheck, config: StationConfig) -> bool:
    ours = (config.name, config.device, config.format)
    return ours == (check.station, check.device, check.format) and (
        config.division_g is None or config.division_g == check.division_g
    )
