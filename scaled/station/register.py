"""Opens a station's sessions: each with an id of its own and with all that it begins under."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING, Final

from scaled.records.session import SessionInfo

if TYPE_CHECKING:
    from scaled.config import StationConfig
    from scaled.core.habit import Deviations
    from scaled.station.acquaintance import Acquaintance
    from scaled.station.day_check import DayCheck
    from scaled.station.premises import Standard

_ID_TICK: Final = timedelta(milliseconds=1)
"""Session ids tell the time to this; no two of a station have the same."""


class Register:
    """The sessions of one station, by id."""

    def __init__(self, config: StationConfig, software: str) -> None:
        """Nobody is known yet; ``software`` is this program's version."""
        self.acquaintance: Acquaintance | None = None
        """The cook who is known from earlier sessions; counts only where the session is his."""
        self._config = config
        self._software = software
        self._id_at = datetime.min.replace(tzinfo=UTC)

    def open(
        self, standard: Standard, badge: str | None, day_check: DayCheck, now: datetime
    ) -> SessionInfo:
        """A session that begins now."""
        at = now.astimezone(UTC)
        return SessionInfo(
            session=self._next_id(at),
            station=self._config.name,
            badge=badge,
            profile_text=standard.text,
            profile_id=standard.profile.id,
            profile_revision=standard.profile.revision,
            format=self._config.format,
            device=self._config.device,
            division_g=self._config.division_g,
            accuracy=day_check.accuracy(now),
            scale_check=day_check.state(now).fitness.value,
            position=self._config.position,
            habit=self._habit(badge, standard.profile.id),
            started_at=at,
            software=self._software,
        )

    def is_of_this_scale(self, info: SessionInfo) -> bool:
        """Whether a session can go on at the scale as it is set up now."""
        config = self._config
        ours = (config.format, config.device, config.division_g, config.position)
        return ours == (info.format, info.device, info.division_g, info.position)

    def _habit(self, badge: str | None, profile_id: str) -> Deviations | None:
        known = self.acquaintance
        if known is None or (known.badge, known.profile_id) != (badge, profile_id):
            return None
        return known.habit or None

    def _next_id(self, now: datetime) -> str:
        """An id later than all before it, even when the wall clock stood still or went back."""
        self._id_at = at = max(now, self._id_at + _ID_TICK)
        return f"{at:%Y%m%dT%H%M%S}{at.microsecond // 1000:03d}Z-{self._config.name}"
