"""What a station knows of a cook when his session begins."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from scaled.core.errors import JournalError
from scaled.records.past import find_habit
from scaled.records.reader import Records

if TYPE_CHECKING:
    from datetime import datetime
    from pathlib import Path

    from scaled.core.habit import Deviations
    from scaled.core.profile import BuildProfile

_LOG: Final = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Acquaintance:
    """One cook's way with one dish.

    Attributes:
        badge: Code of the cook.
        profile_id: Id of the dish.
        habit: What he usually puts in.
    """

    badge: str
    profile_id: str
    habit: Deviations


def find_acquaintance(
    journal: Path, badge: str, profile: BuildProfile, now: datetime
) -> Acquaintance:
    """The cook as the journal knows him; blocking.

    A journal that cannot be read knows nobody: no session waits for this.
    """
    habit: Deviations = {}
    try:
        with Records.open(journal) as stored:
            habit = find_habit(stored, badge, profile, now)
    except JournalError as err:
        _LOG.warning("nothing known of %s from before: %s", badge, err)
    return Acquaintance(badge, profile.id, habit)
