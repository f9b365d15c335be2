"""Checks of scales as a station would record them, at Quillmere Kitchens."""

from __future__ import annotations

from datetime import UTC, datetime

from scaled.core.verification import Verification
from scaled.records.check import ScaleCheck
from tests.core.checked import Checked, checkup, scale

MORNING = datetime(2026, 11, 25, 8, 3, tzinfo=UTC)
_VERIFIED: dict[float, Verification] = {}


def verified(span: float = 1.0) -> Verification:
    """What came of checking a scale of this span; simulated once."""
    if span not in _VERIFIED:
        _VERIFIED[span] = Checked(scale(span=span), checkup()).obey()
    return _VERIFIED[span]


def scale_check(
    span: float = 1.0, station: str = "line-1", at: datetime = MORNING, device: str = "scale"
) -> ScaleCheck:
    return ScaleCheck(
        check=f"{at:%Y%m%dT%H%M%S}000Z-{station}-check",
        station=station,
        badge="C-014",
        format="ascii-stream",
        device=device,
        division_g=1.0,
        accuracy_class="III",
        e_g=1.0,
        capacity_g=6000.0,
        weight_error_g=None,
        checked_at=at,
        software="test",
        verification=verified(span),
    )
