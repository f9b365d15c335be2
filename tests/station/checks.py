"""Checks of a scale as they are planned for a station."""

from __future__ import annotations

from typing import TYPE_CHECKING

from scaled.config import StationConfig
from scaled.station.check_plan import CheckPlan

if TYPE_CHECKING:
    from scaled.core.checkup import Checkup

PLATED = {
    "name": "line-1",
    "device": "/dev/ttyUSB0",
    "format": "ascii-stream",
    "division": "1 g",
    "class": "III",
    "capacity": "6 kg",
}
"""A station's table with all that a check must know of its scale."""


def planned(asked: Checkup, badge: str | None = None) -> CheckPlan:
    """A check of that scale."""
    return CheckPlan(StationConfig.model_validate(PLATED), asked, badge)
